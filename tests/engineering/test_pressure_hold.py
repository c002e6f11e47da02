"""A nitrogen hold is compensated for temperature by the real gas, and says what it could have seen."""

from __future__ import annotations

import math

import pyromat
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering.errors import Refusal
from shopcool.engineering.fluids import Fluid
from shopcool.engineering.pressure_hold import (
    PressureHold,
    Verdict,
    pressure_at_constant_density,
    pressure_hold,
    refrigerant_loss,
    smallest_visible_loss,
)
from shopcool.engineering.properties import density_kg_m3
from shopcool.engineering.quantities import Kind, from_unit
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each
from tests.engineering.soundness import ANY_FLOAT, assert_sound

BAR = 1e5


def psig(value: float) -> float:
    return from_unit(value, "psi", Kind.PRESSURE, basis="gauge")


def fahrenheit(value: float) -> float:
    return from_unit(value, "°F", Kind.TEMPERATURE)


def held(
    last_pressure_pa: float, *, last_temperature_k: float = 293.15, hours: float = 24, u_t: float = 0.3
) -> PressureHold:
    """Hold 11 bar absolute from 20 °C, read with 2 kPa and by default 0.3 K."""
    return pressure_hold(
        11 * BAR,
        293.15,
        last_pressure_pa,
        last_temperature_k,
        duration_s=hours * 3600,
        highest_allowed_pa=15 * BAR,
        pressure_uncertainty_pa=2000,
        temperature_uncertainty_k=u_t,
    )


def smallest(hours: float) -> float:
    """Return the smallest visible loss [g/year] of R-134a at 6 bar, viscous, from 3 litres."""
    loss = smallest_visible_loss(
        held(11 * BAR, hours=hours), volume_m3=3e-3, refrigerant=Fluid.R134A, system_pressure_pa=6 * BAR
    )
    return 1000 * loss.viscous_kg_year


def other_library(pressure_pa: float, from_k: float, to_k: float) -> float:
    gas = pyromat.get("mp.N2")
    density = gas.d(T=from_k, p=pressure_pa / BAR)
    return float(gas.p(T=to_k, d=density)[0]) * BAR


def compensated_psig(first: float, from_f: float, to_f: float) -> float:
    last = pressure_at_constant_density(psig(first), fahrenheit(from_f), fahrenheit(to_f))
    return (last - 101325) / 6894.757293168


CHECKS = (
    Check(
        "pressure hold",
        "11 bar from 20 to 30 °C, Pa",
        lambda: pressure_at_constant_density(11 * BAR, 293.15, 303.15),
        lambda: other_library(11 * BAR, 293.15, 303.15),
        2e-5,
        "PYroMat, nitrogen",
        "independent library",
    ),
    Check(
        "pressure hold",
        "36 bar from 20 to 30 °C, Pa",
        lambda: pressure_at_constant_density(36 * BAR, 293.15, 303.15),
        lambda: other_library(36 * BAR, 293.15, 303.15),
        2e-5,
        "PYroMat, nitrogen",
        "independent library",
    ),
    Check(
        "pressure hold",
        "density of nitrogen at 300 K and 1 atm, kg/m³",
        lambda: density_kg_m3(Fluid.NITROGEN, 101325, 300.0),
        1.138,
        5e-4,
        "Younglove 1982, as quoted in handbooks",
        "published",
    ),
    Check(
        "pressure hold",
        "150 psig from 95 to 75 °F, psig",
        lambda: compensated_psig(150, 95, 75),
        144.1,
        3e-3,
        "P2/P1 = T2/T1 in absolute units, ideal gas",
        "arithmetic",
    ),
    Check(
        "pressure hold",
        "150 psig from 80 to 70 °F, psig",
        lambda: compensated_psig(150, 80, 70),
        146.9,
        3e-3,
        "P2/P1 = T2/T1 in absolute units, ideal gas",
        "arithmetic",
    ),
    Check(
        "pressure hold",
        "change per 10 °F at 150 psig, psi",
        lambda: 150 - compensated_psig(150, 80, 70),
        3.0,
        0.1,
        "rule of the trade: about 3 psi per 10 °F",
        "from memory",
    ),
    Check(
        "pressure hold",
        "smallest visible R-134a loss after 24 h, g/year",
        lambda: smallest(24),
        131.0,
        0.02,
        "worked by hand: 6.5 kPa of 11 bar in 3 l, viscous, 6 bar",
        "arithmetic",
    ),
)


@each(CHECKS)
def test_it_agrees_with_the_world_outside(check: Check) -> None:
    assert_holds(check)


class TestTheVerdict:
    def test_a_fall_that_the_temperature_explains_is_no_loss(self) -> None:
        expected = pressure_at_constant_density(11 * BAR, 293.15, 288.15)

        result = held(expected, last_temperature_k=288.15)

        assert result.verdict is Verdict.TIGHT_WITHIN
        assert result.loss_pa == pytest.approx(0, abs=1e-3)
        assert result.sentence.startswith("Tight within the uncertainty")

    def test_the_uncertainty_is_that_of_four_readings(self) -> None:
        assert held(11 * BAR).uncertainty_pa == pytest.approx(6490, rel=2e-3)

    def test_more_than_that_is_a_loss_or_a_gain(self) -> None:
        assert held(11 * BAR - 6600).verdict is Verdict.LOSS
        assert held(11 * BAR - 6400).verdict is Verdict.TIGHT_WITHIN
        assert held(11 * BAR + 6600).verdict is Verdict.GAIN

    def test_the_ideal_gas_would_be_short_by_some_percent_of_the_change(self) -> None:
        real = pressure_at_constant_density(36 * BAR, 293.15, 303.15) - 36 * BAR
        ideal = 36 * BAR * 10 / 293.15

        assert (real - ideal) / ideal == pytest.approx(0.086, abs=0.002)

    def test_temperature_not_the_gauge_sets_the_limit(self) -> None:
        assert held(11 * BAR, u_t=1.0).uncertainty_pa > 1.8 * held(11 * BAR).uncertainty_pa

    def test_the_precautions_are_said(self) -> None:
        codes = {notice.code for notice in held(11 * BAR).warnings}

        assert codes == {"regulator", "hoses", "metal", "vent"}


class TestWhatItCouldSee:
    def test_longer_holds_see_smaller_leaks(self) -> None:
        assert [round(smallest(hours), -1) for hours in (0.5, 4)] == [6300, 790]
        assert smallest(0.5) > smallest(4) > smallest(24)

    def test_a_measured_loss_is_given_for_both_laws(self) -> None:
        result = refrigerant_loss(
            held(10.9 * BAR), volume_m3=3e-3, refrigerant=Fluid.R1234YF, system_pressure_pa=6 * BAR
        )

        laws = (result.molecular_kg_year, result.viscous_kg_year)
        assert (result.low_kg_year, result.high_kg_year) == (min(laws), max(laws))
        assert 0 < result.low_kg_year < result.high_kg_year
        assert result.nitrogen_kg_year == pytest.approx(3e-3 * 0.1 * 1.15 * 365.25, rel=0.03)


@given(st.floats(2e5, 5e6), st.floats(250, 340), st.floats(-25, 25))
def test_there_and_back_is_where_it_began(pressure: float, temperature: float, change: float) -> None:
    there = pressure_at_constant_density(pressure, temperature, temperature + change)

    assert pressure_at_constant_density(there, temperature + change, temperature) == pytest.approx(pressure)
    assert (there > pressure) == (change > 0) or there == pytest.approx(pressure)


@pytest.mark.parametrize(
    ("changed", "code", "sentence"),
    [
        ({"first": 1.4e5}, "p_low", "sees nothing: raise the pressure"),
        ({"first": 16e5}, "over_limit", "above what the weakest part may hold"),
        ({"duration": 299}, "short", "between 5 minutes and 30 days"),
        ({"last_k": 320}, "dT", "changed by more than 25 K"),
        ({"last": -5}, "pressure", "last pressure must be absolute"),
        ({"first_k": 20}, "temperature", "between -40 and 80 °C"),
        ({"u": -1}, "uncertainty", "can't be negative"),
        ({"first": math.nan}, "not_a_number", "first pressure is missing"),
        ({"highest": 1e8}, "pressure", "between 1.5 and 60 bar"),
    ],
)
def test_nonsense_is_refused(changed: dict[str, float], code: str, sentence: str) -> None:
    given = {
        "first": 11e5,
        "first_k": 293.15,
        "last": 11e5,
        "last_k": 293.15,
        "duration": 3600,
        "highest": 15e5,
        "u": 2000,
        **changed,
    }

    with pytest.raises(Refusal, match=sentence) as refused:
        pressure_hold(
            given["first"],
            given["first_k"],
            given["last"],
            given["last_k"],
            duration_s=given["duration"],
            highest_allowed_pa=given["highest"],
            pressure_uncertainty_pa=given["u"],
            temperature_uncertainty_k=0.3,
        )
    assert refused.value.code == code


@given(st.lists(ANY_FLOAT, min_size=8, max_size=8))
def test_any_numbers_give_a_result_or_a_refusal(numbers: list[float]) -> None:
    first, first_k, last, last_k, duration, highest, pressure_u, temperature_u = numbers
    assert_sound(
        answer_or_refusal(
            lambda: pressure_hold(
                first,
                first_k,
                last,
                last_k,
                duration_s=duration,
                highest_allowed_pa=highest,
                pressure_uncertainty_pa=pressure_u,
                temperature_uncertainty_k=temperature_u,
            )
        )
    )


@given(
    st.floats(1.6e5, 6e6),
    st.floats(1, 6e6),
    st.floats(240, 350),
    st.floats(-25, 25),
    st.lists(ANY_FLOAT, min_size=3, max_size=3),
)
def test_any_hold_becomes_a_loss_or_a_refusal(
    first: float, last: float, temperature: float, change: float, numbers: list[float]
) -> None:
    volume, system, atmosphere = numbers

    def losses() -> object:
        hold = pressure_hold(
            first,
            temperature,
            last,
            temperature + change,
            duration_s=3600,
            highest_allowed_pa=6e6,
            pressure_uncertainty_pa=1e5,
            temperature_uncertainty_k=5,
        )
        return hold, smallest_visible_loss(
            hold,
            volume_m3=volume,
            refrigerant=Fluid.R134A,
            system_pressure_pa=system,
            atmosphere_pa=atmosphere,
        )

    assert_sound(answer_or_refusal(losses))
