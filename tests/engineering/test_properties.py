"""Properties agree with tables, measurements and other implementations, and refuse what they don't know."""

from __future__ import annotations

import math
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering import properties
from shopcool.engineering.errors import Refusal
from shopcool.engineering.fluids import REFRIGERANTS, WINDOWS, Fluid
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each
from tests.engineering.property_checks import CHECKS


@each(CHECKS)
def test_the_world_outside_agrees(check: Check) -> None:
    assert_holds(check)


class TestTheSaturationLine:
    @pytest.mark.parametrize("fluid", REFRIGERANTS)
    def test_pressure_and_temperature_are_inverse(self, fluid: Fluid) -> None:
        for kelvin in (230.0, 273.15, 300.0):
            pressure = properties.saturation_pressure_pa(fluid, kelvin)

            assert properties.saturation_temperature_k(fluid, pressure) == pytest.approx(kelvin, abs=1e-6)

    @pytest.mark.parametrize("quality", [0.0, 1.0])
    def test_zero_superheat_and_zero_subcooling_have_an_answer(self, quality: float) -> None:
        boiling = properties.saturation_temperature_k(Fluid.R134A, 3e5)

        state = properties.state_pt(Fluid.R134A, 3e5, boiling, quality_on_line=quality)

        assert state.quality == quality
        assert state.temperature_k == pytest.approx(boiling)

    def test_pressure_rises_with_temperature(self) -> None:
        for fluid in REFRIGERANTS:
            lowest, highest = WINDOWS[fluid].lowest_k, properties.critical_temperature_k(fluid) - 0.01
            step = (highest - lowest) / 60
            pressures = [
                properties.saturation_pressure_pa(fluid, lowest + place * step) for place in range(61)
            ]

            assert pressures == sorted(pressures)


class TestStates:
    def test_pressure_with_entropy_or_enthalpy_leads_back_to_the_temperature(self) -> None:
        state = properties.state_pt(Fluid.R1234YF, 12e5, 340.0)

        assert properties.state_ps(Fluid.R1234YF, 12e5, state.entropy_j_kg_k).temperature_k == pytest.approx(
            340.0
        )
        assert properties.state_ph(Fluid.R1234YF, 12e5, state.enthalpy_j_kg).temperature_k == pytest.approx(
            340.0
        )

    def test_a_thin_gas_is_an_ideal_gas(self) -> None:
        for fluid in Fluid:
            density = properties.density_kg_m3(fluid, 100.0, 320.0)

            ideal = 100.0 * properties.molar_mass_kg_mol(fluid) / (8.314462618 * 320.0)
            assert density == pytest.approx(ideal, rel=1e-3)


# What the installed version answers. An update of the library must not move results of stored records unseen.
PINNED_PRESSURES_PA = {
    Fluid.R134A: 571706.9,
    Fluid.R1234YF: 591836.1,
    Fluid.R744: 5729052.6,
    Fluid.R152A: 512905.5,
    Fluid.R12: 566416.5,
}


@pytest.mark.parametrize("fluid", REFRIGERANTS)
def test_an_update_of_the_library_has_not_moved_the_answers(fluid: Fluid) -> None:
    assert properties.saturation_pressure_pa(fluid, 293.15) == pytest.approx(
        PINNED_PRESSURES_PA[fluid], rel=2e-6
    )


class TestRefusals:
    @pytest.mark.parametrize(
        ("question", "code", "sentence"),
        [
            (
                lambda: properties.saturation_temperature_k(Fluid.R744, 101325.0),
                "dry_ice",
                "dry ice can plug hoses",
            ),
            (
                lambda: properties.saturation_temperature_k(Fluid.R1234YF, 34.1e5),
                "supercritical",
                r"34\.1 bar abs is above the critical pressure of R-1234yf \(33\.8\)",
            ),
            (
                lambda: properties.saturation_temperature_k(Fluid.R134A, 100.0),
                "p_too_low",
                "vacuum in which R-134a",
            ),
            (
                lambda: properties.saturation_pressure_pa(Fluid.R744, 310.0),
                "above_Tc",
                r"no liquid at 36\.9 °C",
            ),
            (
                lambda: properties.saturation_pressure_pa(Fluid.WATER, 263.15),
                "T_range",
                r"-10\.0 °C is outside",
            ),
            (
                lambda: properties.saturation_pressure_pa(Fluid.AIR, 150.0),
                "no_saturation",
                "Air is a mixture",
            ),
            (lambda: properties.density_kg_m3(Fluid.R134A, 1e5, 900.0), "T_range", r"626\.9 °C is outside"),
            (
                lambda: properties.density_kg_m3(Fluid.R134A, 500e6, 300.0),
                "p_range",
                r"\(above 0, to 700 bar\)",
            ),
            (lambda: properties.density_kg_m3(Fluid.R152A, 1e5, 100.0), "T_range", r"-173\.1 °C is outside"),
            (
                lambda: properties.state_pt("R-13", 1e5, 300.0),
                "unknown_fluid",
                "“R-13” is not a fluid known here",
            ),
            (
                lambda: properties.saturation_pressure_pa(Fluid.R134A, 300.0, quality=1.1),
                "quality",
                "between 0 and 1",
            ),
            (lambda: properties.ice_vapour_pressure_pa(280.0), "T_range", "ice curve ends at 0.01 °C"),
            (lambda: properties.service_refrigerant("R-12"), "not_serviced", "R-12 is not computed here"),
        ],
    )
    def test_each_names_its_reason(self, question: Callable[[], object], code: str, sentence: str) -> None:
        with pytest.raises(Refusal, match=sentence) as refused:
            question()

        assert refused.value.code == code


ANY_NUMBER = st.one_of(st.floats(), st.floats(0.0, 1e8), st.floats(100.0, 700.0))
QUESTIONS = (
    lambda fluid, first, second: properties.saturation_pressure_pa(fluid, first),
    lambda fluid, first, second: properties.saturation_temperature_k(fluid, first),
    lambda fluid, first, second: properties.saturated_density_kg_m3(fluid, first, quality=second),
    lambda fluid, first, second: properties.density_kg_m3(fluid, first, second),
    lambda fluid, first, second: properties.state_ps(fluid, first, second).temperature_k,
    lambda fluid, first, second: properties.state_ph(fluid, first, second).temperature_k,
    lambda fluid, first, second: properties.viscosity_pa_s(fluid, first, second),
    lambda fluid, first, second: properties.ice_vapour_pressure_pa(first),
)


@given(st.sampled_from(Fluid), st.sampled_from(QUESTIONS), ANY_NUMBER, ANY_NUMBER)
def test_any_number_gives_a_finite_answer_or_a_refusal(
    fluid: Fluid, question: Callable[[Fluid, float, float], float], first: float, second: float
) -> None:
    outcome = answer_or_refusal(lambda: question(fluid, first, second))

    if isinstance(outcome, Refusal):
        assert "CoolProp" not in outcome.message
    else:
        assert math.isfinite(outcome)
        assert outcome > 0.0


def test_sixteen_threads_agree_with_one() -> None:
    points = [(fluid, 1e5 + 2e4 * step, 300.0 + step) for step in range(60) for fluid in REFRIGERANTS]

    def answers(_: int) -> list[float]:
        return [properties.state_pt(*point).enthalpy_j_kg for point in points]

    alone = answers(0)
    interval = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    try:
        with ThreadPoolExecutor(16) as pool:
            together = list(pool.map(answers, range(32)))
    finally:
        sys.setswitchinterval(interval)

    assert all(result == alone for result in together)


def test_import_leaves_the_library_alone() -> None:
    script = "import sys, shopcool.engineering.properties; print('CoolProp' in sys.modules)"

    assert (
        subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout
        == "False\n"
    )
