"""A rise of pressure becomes grams per year as a range between two laws of flow."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering.errors import Refusal
from shopcool.engineering.fluids import REFRIGERANTS, Fluid
from shopcool.engineering.vacuum_hold import (
    LeakRange,
    leak_range,
    mass_rate_kg_year,
    molecular_ratio,
    viscous_ratio,
)
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each
from tests.engineering.soundness import ANY_FLOAT, assert_sound

TEXTBOOK = "vacuum-technology textbook, 7.1.2 and table of gas conversion factors"
ROOM_K = 293.15


def throughput(kg_year: float, fluid: Fluid, temperature_k: float = ROOM_K) -> float:
    """Return the throughput [Pa m³/s] of a yearly loss [kg/year]."""
    return kg_year / mass_rate_kg_year(1.0, fluid, temperature_k)


def six_bar(rise_pa_min: float = 0.6, volume_m3: float = 3e-3) -> LeakRange:
    return leak_range(
        rise_pa_min / 60,
        volume_m3=volume_m3,
        refrigerant=Fluid.R134A,
        temperature_k=ROOM_K,
        system_pressure_pa=6e5,
    )


CHECKS = (
    Check(
        "leak rate",
        "10 g R-134a in 10 years, Pa m³/s",
        lambda: throughput(1e-3, Fluid.R134A, 273.15),
        7.1e-7,
        0.01,
        TEXTBOOK,
        "published",
    ),
    Check(
        "leak rate",
        "nitrogen against air, viscous",
        lambda: 1 / viscous_ratio(Fluid.NITROGEN, Fluid.AIR, ROOM_K),
        1.08 / 1.12,
        0.01,
        TEXTBOOK + ", helium to each",
        "published",
    ),
    Check(
        "leak rate",
        "R-134a 4 g/year, mbar l/s",
        lambda: 10 * throughput(4e-3, Fluid.R134A),
        3.03e-5,
        2e-3,
        "ideal gas at 20 °C with M = 102.03 g/mol",
        "arithmetic",
    ),
    Check(
        "leak rate",
        "R-1234yf 7 g/year, mbar l/s",
        lambda: 10 * throughput(7e-3, Fluid.R1234YF),
        4.74e-5,
        2e-3,
        "ideal gas at 20 °C with M = 114.04 g/mol",
        "arithmetic",
    ),
    Check(
        "leak rate",
        "R-744 1 g/year, mbar l/s",
        lambda: 10 * throughput(1e-3, Fluid.R744),
        1.76e-5,
        3e-3,
        "ideal gas at 20 °C with M = 44.01 g/mol",
        "arithmetic",
    ),
    Check(
        "leak rate",
        "air against R-134a, molecular",
        lambda: molecular_ratio(Fluid.R134A, Fluid.AIR),
        math.sqrt(28.9655 / 102.032),
        1e-4,
        "Graham's law with molar masses",
        "arithmetic",
    ),
    Check(
        "leak rate",
        "0.6 Pa/min in 3 l at 6 bar, viscous, g/year",
        lambda: 1e3 * six_bar().viscous_kg_year,
        2115.0,
        2e-3,
        "worked by hand from viscosities at 20 °C",
        "arithmetic",
    ),
    Check(
        "leak rate",
        "0.6 Pa/min in 3 l at 6 bar, molecular, g/year",
        lambda: 1e3 * six_bar().molecular_kg_year,
        104.0,
        5e-3,
        "worked by hand from molar masses",
        "arithmetic",
    ),
)


@each(CHECKS)
def test_it_agrees_with_the_world_outside(check: Check) -> None:
    assert_holds(check)


def test_the_two_laws_differ_twentyfold_at_six_bar_so_a_range_is_given() -> None:
    result = six_bar()

    assert 18 < result.high_kg_year / result.low_kg_year < 22
    assert (result.low_kg_year, result.high_kg_year) == (result.molecular_kg_year, result.viscous_kg_year)


def test_a_legal_leak_moves_the_gauge_by_less_than_a_micron_in_ten_minutes() -> None:
    rise_pa = 0.040 / six_bar(1.0).viscous_kg_year * 10

    assert rise_pa / 0.133322 == pytest.approx(0.85, rel=0.02)


@given(st.floats(1e-6, 10), st.floats(1.01, 10), st.sampled_from(REFRIGERANTS))
def test_more_rise_volume_or_pressure_never_loses_less(rise: float, factor: float, fluid: Fluid) -> None:
    def loss(rise: float, volume: float, pressure: float) -> float:
        return leak_range(
            rise, volume_m3=volume, refrigerant=fluid, temperature_k=ROOM_K, system_pressure_pa=pressure
        ).low_kg_year

    plain = loss(rise, 3e-3, 6e5)
    assert loss(rise * factor, 3e-3, 6e5) == pytest.approx(plain * factor)
    assert loss(rise, 3e-3 * factor, 6e5) == pytest.approx(plain * factor)
    assert loss(rise, 3e-3, 6e5 * factor) > plain


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"rise_pa_s": -1.0}, "rise must be between 0 and 1 bar per second"),
        ({"volume_m3": 3.0}, "between 0.1 and 100 litres"),
        ({"system_pressure_pa": 1e5}, "above the air pressure"),
        ({"atmosphere_pa": 1013.0}, "hPa entered as Pa"),
        ({"temperature_k": 20.0}, "between -40 and 80 °C"),
        ({"volume_m3": math.nan}, "volume of the system is missing"),
    ],
)
def test_nonsense_is_refused(changed: dict[str, float], sentence: str) -> None:
    ordinary = {
        "rise_pa_s": 0.01,
        "volume_m3": 3e-3,
        "temperature_k": ROOM_K,
        "system_pressure_pa": 6e5,
        "atmosphere_pa": 101325.0,
    }

    with pytest.raises(Refusal, match=sentence):
        leak_range(refrigerant=Fluid.R134A, **{**ordinary, **changed})


@given(st.lists(ANY_FLOAT, min_size=5, max_size=5), st.sampled_from(Fluid))
def test_any_numbers_give_a_result_or_a_refusal(numbers: list[float], fluid: Fluid) -> None:
    rise, volume, temperature, pressure, atmosphere = numbers
    assert_sound(
        answer_or_refusal(
            lambda: leak_range(
                rise,
                volume_m3=volume,
                refrigerant=fluid,
                temperature_k=temperature,
                system_pressure_pa=pressure,
                atmosphere_pa=atmosphere,
            )
        )
    )
