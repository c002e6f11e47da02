"""Standing pressure tells liquid, extra gas and a mixed-up basis apart, and says what it can't tell."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering import properties
from shopcool.engineering.errors import Refusal
from shopcool.engineering.properties import REFRIGERANTS, Fluid
from shopcool.engineering.static_pressure import StaticPressure, Verdict, static_pressure
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each

GAUGE_PA = 101325.0
PSI_PA = 6894.757293168


def standing(
    excess_pa: float = 0.0, kelvin: float = 298.15, refrigerant: Fluid = Fluid.R134A, **more: Any
) -> StaticPressure:
    pressure = properties.saturation_pressure_pa(refrigerant, kelvin) + excess_pa
    settings = {"pressure_uncertainty_pa": 5e3, "temperature_uncertainty_k": 0.5} | more
    return static_pressure(refrigerant=refrigerant, pressure_pa=pressure, temperature_k=kelvin, **settings)


MANUAL = "vehicle service manual, static pressure table of R-134a, gauge"

CHECKS: tuple[Check, ...] = (
    *(
        Check(
            "static pressure",
            f"R-134a at {celsius} °C [bar gauge]",
            lambda celsius=celsius: (
                (standing(kelvin=celsius + 273.15).saturation_pressure_pa - GAUGE_PA) / 1e5
            ),
            bar,
            1.2e-2,
            MANUAL,
            "published",
        )
        for celsius, bar in ((15, 3.9), (20, 4.7), (25, 5.6), (30, 6.7), (35, 7.8), (40, 9.1), (45, 10.5))
    ),
    *(
        Check(
            "static pressure",
            f"R-134a limit of a container at {fahrenheit} °F [psi gauge]",
            lambda fahrenheit=fahrenheit: (
                (standing(kelvin=(fahrenheit - 32) / 1.8 + 273.15).saturation_pressure_pa - GAUGE_PA) / PSI_PA
                + 4.7
            ),
            psi,
            0.6,
            "recycled-container pressure table, an allowance of 4 to 5 psi above saturation",
            "from memory",
            absolute=True,
        )
        for fahrenheit, psi in ((70, 76.0), (80, 91.0), (90, 109.0))
    ),
    Check(
        "static pressure",
        "air at 30 kPa in 1 l at 20 °C [g]",
        lambda: (
            1e3
            * (
                standing(
                    30e3,
                    293.15,
                    vapour_volume_m3=1e-3,
                    pressure_uncertainty_pa=0.0,
                    temperature_uncertainty_k=0.0,
                ).lowest_air_kg
                or 0.0
            )
        ),
        30e3 * 1e-3 / (287.05 * 293.15) * 1e3,
        1e-3,
        "ideal gas with R = 287.05 J/(kg K)",
        "arithmetic",
    ),
    Check(
        "static pressure",
        "smallest charge with liquid, 2.5 l at 20 °C [g]",
        lambda: 1e3 * (standing(kelvin=293.15, circuit_volume_m3=2.5e-3).vapour_only_below_kg or 0.0),
        70.0,
        1e-2,
        "under about 70 g in 2.5 l all is vapour",
        "common practice",
    ),
    Check(
        "static pressure",
        "uncertainty at 25 °C, 5 kPa and 0.5 K [kPa]",
        lambda: standing().uncertainty_pa / 1e3,
        2.0 * math.hypot(5.0, 19.8 * 0.5),
        5e-3,
        "2 √(u_p² + (dp/dT u_T)²) with 19.8 kPa/K",
        "arithmetic",
    ),
)


@each(CHECKS)
def test_the_world_outside_agrees(check: Check) -> None:
    assert_holds(check)


class TestTheVerdict:
    def test_agreement_promises_neither_amount_nor_purity(self) -> None:
        result = standing(10e3)

        assert result.verdict is Verdict.CONSISTENT
        assert "says nothing about the amount, about air" in result.sentence
        assert result.highest_air_share == pytest.approx(0.048, abs=0.002)

    def test_too_much_pressure_is_never_called_air_alone(self) -> None:
        result = standing(44e3)

        assert result.verdict is Verdict.EXTRA_GAS
        assert "air or another or mixed refrigerant" in result.sentence
        assert 0.0 < result.lowest_air_share < 44e3 / result.pressure_pa < result.highest_air_share

    def test_a_tank_far_above_saturation_has_extra_gas(self) -> None:
        """More than 400 psi on a day of 90 °F, where pure R-12 stands at 99.6."""
        result = static_pressure(
            refrigerant=Fluid.R12,
            pressure_pa=GAUGE_PA + 400 * PSI_PA,
            temperature_k=305.37,
            pressure_uncertainty_pa=7e3,
        )

        assert result.verdict is Verdict.EXTRA_GAS
        assert result.excess_pa / PSI_PA == pytest.approx(300.0, abs=2.0)

    def test_too_little_pressure_means_no_liquid(self) -> None:
        assert standing(-150e3).verdict is Verdict.NO_LIQUID

    @pytest.mark.parametrize("excess_pa", [GAUGE_PA, -GAUGE_PA])
    def test_one_atmosphere_off_asks_for_the_basis_first(self, excess_pa: float) -> None:
        result = standing(excess_pa)

        assert result.verdict is Verdict.BASIS_MIX_UP
        assert "gauge and absolute may be mixed up" in result.sentence

    def test_the_gas_is_never_recognised(self) -> None:
        assert standing().also_fits == (Fluid.R1234YF, Fluid.R12)
        assert "only an identifier can" in standing().warnings[1].message

    def test_a_mixture_of_two_refrigerants_reads_like_air(self) -> None:
        """Half R-134a, half R-1234yf by mass stands at 708.9 kPa at 25 °C."""
        result = static_pressure(
            refrigerant=Fluid.R134A,
            pressure_pa=708.9e3,
            temperature_k=298.15,
            pressure_uncertainty_pa=5e3,
            temperature_uncertainty_k=0.5,
        )

        assert result.verdict is Verdict.EXTRA_GAS

    def test_a_worse_thermometer_sees_less(self) -> None:
        bounds = [standing(temperature_uncertainty_k=step / 10).uncertainty_pa for step in range(1, 30)]

        assert bounds == sorted(bounds)


class TestRefusals:
    @pytest.mark.parametrize(
        ("changes", "code", "sentence"),
        [
            ({"pressure_pa": math.nan}, "not_a_number", "The pressure is missing or not a number"),
            ({"pressure_pa": 0.0}, "pressure", "between a vacuum and 200 bar"),
            ({"temperature_k": 400.0}, "temperature", "between -40 and 80 °C"),
            (
                {"refrigerant": Fluid.R744, "temperature_k": 310.0},
                "above_Tc",
                "R-744 has no liquid at 36.9 °C",
            ),
            ({"charge_kg": 0.04, "circuit_volume_m3": 1.5e-3}, "all_vapour", "says nothing about air"),
            ({"charge_kg": 2.0, "circuit_volume_m3": 1.5e-3}, "liquid_full", "danger, do not heat or move"),
            ({"charge_kg": 0.5}, "volume", "only with the inner volume"),
            ({"vapour_volume_m3": 1e-9}, "volume", "between 10 ml and 10 m³"),
            ({"atmosphere_pa": 1013.25}, "p_atm", "hPa entered as Pa"),
            ({"refrigerant": Fluid.AIR}, "not_a_refrigerant", "air is not a refrigerant"),
        ],
    )
    def test_each_names_its_reason(self, changes: dict[str, Any], code: str, sentence: str) -> None:
        with pytest.raises(Refusal, match=sentence) as refused:
            static_pressure(
                **({"refrigerant": Fluid.R134A, "pressure_pa": 6e5, "temperature_k": 298.15} | changes)
            )

        assert refused.value.code == code


ANY_PRESSURE = st.one_of(st.floats(), st.floats(0.0, 2e7))
ANY_TEMPERATURE = st.one_of(st.floats(), st.floats(230.0, 355.0))
MAYBE = st.one_of(st.none(), st.floats(), st.floats(0.0, 0.1))


@given(
    st.sampled_from(REFRIGERANTS),
    ANY_PRESSURE,
    ANY_TEMPERATURE,
    st.one_of(st.floats(), st.floats(0, 20)),
    MAYBE,
    MAYBE,
    MAYBE,
)
def test_any_numbers_give_a_finite_answer_or_a_refusal(
    fluid: Fluid, pressure: float, kelvin: float, spread: float, vapour: Any, circuit: Any, charge: Any
) -> None:
    outcome = answer_or_refusal(
        lambda: static_pressure(
            refrigerant=fluid,
            pressure_pa=pressure,
            temperature_k=kelvin,
            temperature_uncertainty_k=spread,
            vapour_volume_m3=vapour,
            circuit_volume_m3=circuit,
            charge_kg=charge,
        )
    )

    if not isinstance(outcome, Refusal):
        assert math.isfinite(outcome.excess_pa + outcome.uncertainty_pa)
        assert 0.0 <= outcome.lowest_air_share <= outcome.highest_air_share <= 1.0
        assert outcome.highest_air_kg is None or outcome.highest_air_kg >= 0.0
