"""The pressure-enthalpy chart is drawn from the equation of state, and level where it must be."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from dataclasses import asdict
from itertools import pairwise

import pytest

from shopcool.engineering import properties
from shopcool.engineering.chart import Chart, Line, chart, on_chart
from shopcool.engineering.cycle import cycle
from shopcool.engineering.errors import Refusal
from shopcool.engineering.properties import SERVICE_REFRIGERANTS, Fluid
from tests.engineering.checks import Check, assert_holds, each
from tests.engineering.independent import second_opinion


def plateau_j_kg(refrigerant: Fluid, kelvin: float) -> float:
    """Return the length of the level part of an isotherm."""
    line = next(line for line in chart(refrigerant).isotherms if math.isclose(line.value, kelvin))
    pressure = properties.saturation_pressure_pa(refrigerant, kelvin)
    level = [
        point.enthalpy_j_kg
        for point in line.points
        if math.isclose(point.pressure_pa, pressure, rel_tol=1e-9)
    ]
    return max(level) - min(level)


def evaporation_j_kg(refrigerant: Fluid, kelvin: float) -> float:
    other = second_opinion(refrigerant)
    _, liquid, vapour = other.saturation(kelvin)
    return other.enthalpy(kelvin, vapour) - other.enthalpy(kelvin, liquid)


CHECKS: tuple[Check, ...] = tuple(
    Check(
        "chart",
        f"{fluid} heat of evaporation at {kelvin - 273.15:.0f} °C on the chart [J/kg]",
        lambda fluid=fluid, kelvin=kelvin: plateau_j_kg(fluid, kelvin),
        lambda fluid=fluid, kelvin=kelvin: evaporation_j_kg(fluid, kelvin),
        4e-3 if fluid is Fluid.R1234YF else 1e-5,
        "teqp library" + (", another equation" if fluid is Fluid.R1234YF else ", same equation"),
        "independent library",
    )
    for fluid, kelvin in (
        (Fluid.R134A, 273.15),
        (Fluid.R152A, 293.15),
        (Fluid.R744, 273.15),
        (Fluid.R1234YF, 273.15),
    )
)


@each(CHECKS)
def test_the_world_outside_agrees(check: Check) -> None:
    assert_holds(check)


def all_lines(drawn: Chart) -> Iterable[Line]:
    return (*drawn.isotherms, *drawn.isentropes)


@pytest.mark.parametrize("fluid", SERVICE_REFRIGERANTS)
class TestTheChart:
    def test_boiling_and_dew_line_meet_at_the_critical_point(self, fluid: Fluid) -> None:
        drawn = chart(fluid)

        gaps = [
            dew.enthalpy_j_kg - boiling.enthalpy_j_kg
            for boiling, dew in zip(drawn.boiling_line, drawn.dew_line, strict=True)
        ]
        assert gaps == sorted(gaps, reverse=True)
        assert gaps[-1] < 0.05 * gaps[0]
        assert drawn.boiling_line[-1].pressure_pa == pytest.approx(drawn.critical.pressure_pa, rel=1e-3)

    def test_isotherms_fall_from_liquid_to_gas(self, fluid: Fluid) -> None:
        for line in chart(fluid).isotherms:
            pressures = [point.pressure_pa for point in line.points]

            assert all(later <= earlier * (1 + 1e-9) for earlier, later in pairwise(pressures))

    def test_isentropes_keep_their_entropy(self, fluid: Fluid) -> None:
        for line in chart(fluid).isentropes:
            for point in line.points[::4]:
                state = properties.state_ph(fluid, point.pressure_pa, point.enthalpy_j_kg)
                assert state.entropy_j_kg_k == pytest.approx(line.value, rel=1e-6)

    def test_every_point_is_finite_and_the_whole_is_json(self, fluid: Fluid) -> None:
        points = [point for line in all_lines(chart(fluid)) for point in line.points]

        assert all(math.isfinite(point.enthalpy_j_kg + point.pressure_pa) for point in points)
        assert json.loads(json.dumps(asdict(chart(fluid)), allow_nan=False))["refrigerant"] == fluid


def test_the_second_question_is_answered_from_memory() -> None:
    assert chart(Fluid.R134A) is chart(Fluid.R134A)


def test_a_measured_cycle_lies_on_the_chart() -> None:
    measured = cycle(
        refrigerant=Fluid.R134A,
        low_pressure_pa=2e5,
        high_pressure_pa=14e5,
        suction_temperature_k=268.0,
        liquid_temperature_k=320.0,
    )

    drawn = on_chart(measured)

    corners = dict(drawn.corners)
    assert corners["3"].enthalpy_j_kg == corners["4"].enthalpy_j_kg
    assert corners["1"].pressure_pa == corners["4"].pressure_pa == pytest.approx(2e5)
    assert drawn.outline[0] == drawn.outline[-1] == corners["1"]
    assert corners["2"].enthalpy_j_kg - corners["1"].enthalpy_j_kg == pytest.approx(measured.work_j_kg)


def test_a_refrigerant_that_is_only_recovered_has_no_chart() -> None:
    with pytest.raises(Refusal, match="R-12 is not computed here"):
        chart(Fluid.R12)
