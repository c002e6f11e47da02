"""The cycle of the readings agrees with textbooks and another library, and refuses what can't be a cycle."""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import fields
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering import properties
from shopcool.engineering.cycle import Cycle, Verdict, cycle
from shopcool.engineering.errors import Refusal
from shopcool.engineering.properties import SERVICE_REFRIGERANTS, Fluid
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each
from tests.engineering.cycle_checks import CHECKS, GAUGE_PA, PSI_PA, readings


@each(CHECKS)
def test_the_world_outside_agrees(check: Check) -> None:
    assert_holds(check)


class TestTheCycle:
    @pytest.mark.parametrize("fluid", SERVICE_REFRIGERANTS)
    def test_energy_is_conserved_and_carnot_is_never_beaten(self, fluid: Fluid) -> None:
        low, high = (properties.saturation_pressure_pa(fluid, kelvin) for kelvin in (270.0, 300.0))

        result = cycle(**readings(fluid, low, high))

        given_off = result.discharge.enthalpy_j_kg - result.liquid.enthalpy_j_kg
        assert given_off == pytest.approx(result.cooling_j_kg + result.work_j_kg)
        assert result.cop_carnot is not None
        assert result.cop_ideal < result.cop_carnot

    def test_more_subcooling_cools_more_and_more_superheat_works_more(self) -> None:
        steps = [cycle(**readings(superheat_k=step, subcooling_k=step)) for step in range(1, 20)]

        assert [one.cooling_j_kg for one in steps] == sorted(one.cooling_j_kg for one in steps)
        assert [one.work_j_kg for one in steps] == sorted(one.work_j_kg for one in steps)

    def test_a_measured_discharge_temperature_gives_the_efficiency(self) -> None:
        ideal = cycle(**readings())

        result = cycle(**readings(discharge_temperature_k=ideal.isentropic_discharge_temperature_k + 15.0))

        assert result.isentropic_efficiency is not None
        assert 0.6 < result.isentropic_efficiency < 0.8

    def test_a_discharge_colder_than_ideal_shows_no_efficiency(self) -> None:
        result = cycle(**readings(discharge_temperature_k=330.0))

        assert result.isentropic_efficiency is None
        assert "colder_than_isentropic" in {notice.code for notice in result.warnings}

    def test_around_zero_superheat_and_subcooling_the_states_are_saturated(self) -> None:
        result = cycle(**readings(superheat_k=-1.5, subcooling_k=-0.3))

        assert (result.suction.quality, result.liquid.quality) == (1.0, 0.0)
        assert {"no_superheat", "no_subcooling"} <= {notice.code for notice in result.warnings}

    def test_r1234yf_ends_among_droplets_without_being_refused(self) -> None:
        result = cycle(**readings(Fluid.R1234YF, superheat_k=2.0))

        assert "ends_wet" in {notice.code for notice in result.warnings}
        assert result.isentropic_discharge_temperature_k == pytest.approx(result.condensing_temperature_k)

    def test_above_the_critical_pressure_r744_has_an_approach_instead_of_a_condensing_temperature(
        self,
    ) -> None:
        result = cycle(
            refrigerant=Fluid.R744,
            low_pressure_pa=40e5,
            high_pressure_pa=100e5,
            suction_temperature_k=278.45,
            liquid_temperature_k=308.15,
            ambient_temperature_k=303.15,
        )

        assert result.verdict is Verdict.TRANSCRITICAL
        assert (result.condensing_temperature_k, result.subcooling_k, result.cop_carnot) == (None, None, None)
        assert result.approach_k == pytest.approx(5.0)
        assert result.cop_ideal == pytest.approx(3.91, abs=0.02)

    def test_altitude_left_out_moves_the_boiling_temperature_by_more_than_a_kelvin(self) -> None:
        sea, mountain = (cycle(**readings(low_pa=2e5 - drop)) for drop in (0.0, 16.8e3))

        assert sea.evaporating_temperature_k - mountain.evaporating_temperature_k > 1.5

    def test_a_starved_low_side_is_shown_as_implausible(self) -> None:
        """A restriction: high side 120 psi, low side 20 inches of vacuum."""
        result = cycle(
            refrigerant=Fluid.R134A,
            low_pressure_pa=GAUGE_PA - 20 * 3386.389,
            high_pressure_pa=GAUGE_PA + 120 * PSI_PA,
            suction_temperature_k=260.0,
            liquid_temperature_k=305.0,
        )

        assert result.evaporating_temperature_k - 273.15 == pytest.approx(-48.0, abs=1.0)
        assert "implausible_cold" in {notice.code for notice in result.warnings}


class TestRefusals:
    @pytest.mark.parametrize(
        ("changes", "code", "sentence"),
        [
            (
                {"low_pressure_pa": math.nan},
                "not_a_number",
                "The low-side pressure is missing or not a number",
            ),
            (
                {"liquid_temperature_k": math.inf},
                "not_a_number",
                "The liquid temperature is missing or not a number",
            ),
            ({"refrigerant": Fluid.R12}, "not_serviced", "R-12 is not computed here"),
            ({"low_pressure_pa": 0.2e5}, "p_too_low", "the system is in vacuum"),
            ({"low_pressure_pa": 15e5}, "swapped", "not pumping, or the readings are swapped"),
            (
                {"high_pressure_pa": 2.1e5},
                "equalised",
                "nearly the same pressure: the compressor is not pumping",
            ),
            ({"low_pressure_pa": 0.32e5}, "ratio", "A pressure ratio of 44 is not plausible"),
            (
                {"high_pressure_pa": 41e5},
                "supercritical",
                r"41\.0 bar abs is above the critical pressure of R-134a",
            ),
            (
                {"suction_temperature_k": 260.0},
                "neg_superheat",
                r"3\.1 K colder than the boiling temperature",
            ),
            ({"suction_temperature_k": 330.0}, "superheat_high", "A superheat of 67 K is not plausible"),
            (
                {"liquid_temperature_k": 330.0},
                "neg_subcooling",
                r"4\.4 K warmer than the condensing temperature",
            ),
            (
                {"liquid_temperature_k": 255.0},
                "liquid_too_cold",
                "colder than the evaporator's boiling temperature",
            ),
            ({"low_uncertainty_pa": -1.0}, "uncertainty", "uncertainty of an instrument must be between 0"),
        ],
    )
    def test_each_names_its_reason(self, changes: dict[str, Any], code: str, sentence: str) -> None:
        with pytest.raises(Refusal, match=sentence) as refused:
            cycle(**readings(low_uncertainty_pa=1e3) | changes)

        assert refused.value.code == code

    def test_dry_ice_is_named(self) -> None:
        with pytest.raises(Refusal, match="dry ice can plug hoses"):
            cycle(**readings(Fluid.R744, 20e5, 60e5) | {"low_pressure_pa": 3e5})

    @pytest.mark.parametrize("psig", [450.0, 470.0, 476.0, 480.0])
    def test_r1234yf_near_its_critical_pressure_gives_a_result_or_a_reason(self, psig: float) -> None:
        high = GAUGE_PA + psig * PSI_PA
        outcome = answer_or_refusal(
            lambda: cycle(
                refrigerant=Fluid.R1234YF,
                low_pressure_pa=4e5,
                high_pressure_pa=high,
                suction_temperature_k=290.0,
                liquid_temperature_k=350.0,
            )
        )

        if high < properties.critical_pressure_pa(Fluid.R1234YF):
            assert isinstance(outcome, Cycle)
        else:
            assert isinstance(outcome, Refusal)
            assert "Stop the system" in outcome.message

    def test_equal_running_pressures_ask_for_the_drive_before_the_compressor(self) -> None:
        """Seventy psi on both gauges: simply the standing pressure of about 20.7 °C."""
        pressure = GAUGE_PA + 70 * PSI_PA

        assert properties.saturation_temperature_k(Fluid.R134A, pressure) == pytest.approx(293.85, abs=0.1)
        with pytest.raises(Refusal, match="Check clutch, drive, control valve"):
            cycle(
                refrigerant=Fluid.R134A,
                low_pressure_pa=pressure,
                high_pressure_pa=pressure * 1.01,
                suction_temperature_k=295.0,
                liquid_temperature_k=295.0,
            )


PRESSURE = st.one_of(st.floats(), st.floats(1e4, 2e7))
TEMPERATURE = st.one_of(st.floats(), st.floats(200.0, 500.0))
MAYBE = st.one_of(st.none(), TEMPERATURE)


@given(st.sampled_from(Fluid), PRESSURE, PRESSURE, TEMPERATURE, TEMPERATURE, MAYBE, MAYBE, st.floats())
def test_any_readings_give_finite_numbers_or_a_refusal(
    fluid: Fluid,
    low: float,
    high: float,
    suction: float,
    liquid: float,
    discharge: Any,
    ambient: Any,
    spread: float,
) -> None:
    outcome = answer_or_refusal(
        lambda: cycle(
            refrigerant=fluid,
            low_pressure_pa=low,
            high_pressure_pa=high,
            suction_temperature_k=suction,
            liquid_temperature_k=liquid,
            discharge_temperature_k=discharge,
            ambient_temperature_k=ambient,
            temperature_uncertainty_k=spread,
        )
    )

    assert_whole(outcome)


@given(
    st.sampled_from(SERVICE_REFRIGERANTS),
    st.floats(230.0, 290.0),
    st.floats(292.0, 420.0),
    st.floats(-4.0, 65.0),
    st.floats(-4.0, 65.0),
    st.one_of(st.none(), st.floats(280.0, 460.0)),
)
def test_readings_close_to_a_cycle_give_finite_numbers_or_a_refusal(
    fluid: Fluid, evaporating: float, condensing: float, superheat: float, subcooling: float, discharge: Any
) -> None:
    critical = properties.critical_temperature_k(fluid)
    high = properties.saturation_pressure_pa(fluid, min(condensing, critical - 0.01))
    if fluid is Fluid.R744 and condensing > critical:
        high = 1e5 * (74.0 + condensing - critical)
    outcome = answer_or_refusal(
        lambda: cycle(
            refrigerant=fluid,
            low_pressure_pa=properties.saturation_pressure_pa(fluid, evaporating),
            high_pressure_pa=high,
            suction_temperature_k=evaporating + superheat,
            liquid_temperature_k=condensing - subcooling,
            discharge_temperature_k=discharge,
        )
    )

    assert_whole(outcome)


def assert_whole(outcome: Cycle | Refusal) -> None:
    """Fail when a result holds a number that is not finite, or a refusal speaks for the library."""
    if isinstance(outcome, Refusal):
        assert "CoolProp" not in outcome.message
        return
    numbers = [getattr(outcome, field.name) for field in fields(outcome)]
    assert all(math.isfinite(value) for value in numbers if isinstance(value, float))
    assert outcome.cop_ideal > 0.0
    assert 0.0 <= outcome.vapour_share_after_valve < 1.0


def test_sixteen_threads_agree_with_one() -> None:
    cases = [
        readings(fluid, 2e5 + 1e3 * step, 12e5)
        for step in range(20)
        for fluid in (Fluid.R134A, Fluid.R1234YF)
    ]

    def results(_: int) -> list[Cycle]:
        return [cycle(**case) for case in cases]

    alone = results(0)
    with ThreadPoolExecutor(16) as pool:
        assert all(together == alone for together in pool.map(results, range(16)))
