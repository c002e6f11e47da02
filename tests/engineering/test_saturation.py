"""The boiling temperature of a gauge reading."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering import properties
from shopcool.engineering.errors import Refusal
from shopcool.engineering.properties import REFRIGERANTS, Fluid
from shopcool.engineering.saturation import Verdict, saturation
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each

GAUGE_PA = 101325.0
MANUAL = "vehicle service manual, pressure-temperature table of R-134a, gauge"


def boiling_c(refrigerant: Fluid, pressure_pa: float) -> float:
    return saturation(refrigerant=refrigerant, pressure_pa=pressure_pa).temperature_k - 273.15


def slope(refrigerant: Fluid, pressure_pa: float) -> float:
    """Return kelvin per 0.1 bar."""
    return 1e4 * saturation(refrigerant=refrigerant, pressure_pa=pressure_pa).slope_k_per_pa


CHECKS: tuple[Check, ...] = (
    *(
        Check(
            "saturation",
            f"R-134a boiling temperature at {kilopascal} kPa gauge [°C]",
            lambda kilopascal=kilopascal: boiling_c(Fluid.R134A, GAUGE_PA + 1e3 * kilopascal),
            celsius,
            0.4,
            MANUAL,
            "published",
            absolute=True,
        )
        for celsius, kilopascal in ((20.0, 467.7), (30.0, 667.8), (40.0, 916.4), (60.0, 1589.6))
    ),
    *(
        Check(
            "saturation",
            f"R-134a boiling temperature at {bar} bar gauge [°C]",
            lambda bar=bar: boiling_c(Fluid.R134A, GAUGE_PA + 1e5 * bar),
            celsius,
            0.6,
            "second vehicle service manual, static pressure table",
            "published",
            absolute=True,
        )
        for celsius, bar in (
            (15.0, 3.9),
            (20.0, 4.7),
            (25.0, 5.6),
            (30.0, 6.7),
            (35.0, 7.8),
            (40.0, 9.1),
            (45.0, 10.5),
        )
    ),
    Check(
        "saturation",
        "R-1234yf boiling temperature at 132.638 kPa [K]",
        lambda: boiling_c(Fluid.R1234YF, 132638.0) + 273.15,
        250.0,
        0.01,
        "posted value of the equation of Richter et al. 2011",
        "published",
        absolute=True,
    ),
    Check(
        "saturation",
        "R-12 boiling temperature at 99.6 psi gauge [°F]",
        lambda: boiling_c(Fluid.R12, GAUGE_PA + 99.6 * 6894.757) * 1.8 + 32.0,
        90.0,
        0.5,
        "R-12 at 90 °F, refrigerant tables",
        "from memory",
        absolute=True,
    ),
    *(
        Check(
            "saturation",
            f"{fluid} slope at {bar} bar [K/bar]",
            lambda fluid=fluid, bar=bar: 10.0 * slope(fluid, bar * 1e5),
            lambda fluid=fluid, bar=bar: (
                (
                    properties.saturation_temperature_k(fluid, (bar + 0.005) * 1e5)
                    - properties.saturation_temperature_k(fluid, (bar - 0.005) * 1e5)
                )
                / 0.01
            ),
            1e-4,
            "difference quotient of the boiling temperature",
            "arithmetic",
        )
        for fluid, bar in ((Fluid.R134A, 3.0), (Fluid.R1234YF, 14.0), (Fluid.R744, 40.0))
    ),
)


@each(CHECKS)
def test_the_world_outside_agrees(check: Check) -> None:
    assert_holds(check)


def test_the_curves_of_two_common_refrigerants_cross() -> None:
    """So pressure and temperature can't tell them apart."""
    below, above = (
        properties.saturation_pressure_pa(Fluid.R134A, kelvin)
        - properties.saturation_pressure_pa(Fluid.R1234YF, kelvin)
        for kelvin in (303.15, 323.15)
    )

    assert below < 0.0 < above


def test_the_uncertainty_grows_with_that_of_the_gauge() -> None:
    result = saturation(refrigerant=Fluid.R134A, pressure_pa=3e5, pressure_uncertainty_pa=8e3)

    assert result.temperature_uncertainty_k == pytest.approx(1.49, abs=0.02)


def test_a_deep_vacuum_is_implausible_for_an_evaporator() -> None:
    result = saturation(refrigerant=Fluid.R134A, pressure_pa=0.336e5)

    assert result.verdict is Verdict.IMPLAUSIBLE
    assert "-48 °C is implausible for an evaporator at work" in result.warnings[-1].message


class TestRefusals:
    @pytest.mark.parametrize(
        ("changes", "code", "sentence"),
        [
            ({"pressure_pa": math.nan}, "not_a_number", "The pressure is missing or not a number"),
            ({"pressure_pa": 1e4}, "p_too_low", r"0\.10 bar abs: the system is in vacuum"),
            (
                {"pressure_pa": 45e5},
                "supercritical",
                r"45\.0 bar abs is above the critical pressure of R-134a \(40\.6\)",
            ),
            ({"refrigerant": Fluid.NITROGEN}, "not_a_refrigerant", "nitrogen is not a refrigerant"),
            ({"pressure_uncertainty_pa": 2e6}, "uncertainty", "must be between 0 and"),
        ],
    )
    def test_each_names_its_reason(self, changes: dict[str, Any], code: str, sentence: str) -> None:
        with pytest.raises(Refusal, match=sentence) as refused:
            saturation(**({"refrigerant": Fluid.R134A, "pressure_pa": 3e5} | changes))

        assert refused.value.code == code


@given(
    st.sampled_from(REFRIGERANTS),
    st.one_of(st.floats(), st.floats(1e4, 8e6)),
    st.one_of(st.floats(), st.floats(0, 1e5)),
)
def test_any_number_gives_a_finite_answer_or_a_refusal(fluid: Fluid, pressure: float, spread: float) -> None:
    outcome = answer_or_refusal(
        lambda: saturation(refrigerant=fluid, pressure_pa=pressure, pressure_uncertainty_pa=spread)
    )

    if not isinstance(outcome, Refusal):
        assert outcome.temperature_k > 223.1
        assert math.isfinite(outcome.temperature_uncertainty_k)
        assert outcome.slope_k_per_pa > 0.0
