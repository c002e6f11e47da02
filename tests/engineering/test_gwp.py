"""A global warming potential is a row of an edition, never one constant."""

from __future__ import annotations

import math
from datetime import date

import chemicals
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering.errors import Refusal
from shopcool.engineering.fluids import REFRIGERANTS, Fluid
from shopcool.engineering.gwp import POTENTIALS, Edition, co2_equivalent, latest_edition, potential
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each
from tests.engineering.soundness import ANY_FLOAT, assert_sound

REGISTRY = {
    Fluid.R134A: "811-97-2",
    Fluid.R1234YF: "754-12-1",
    Fluid.R152A: "75-37-6",
    Fluid.R12: "75-71-8",
    Fluid.R744: "124-38-9",
}
METHODS = {
    Edition.AR4: "IPCC (2007) 100yr",
    Edition.AR5: "IPCC (2014) 100yr",
    Edition.AR6: "IPCC (2021) 100yr",
}


def library(fluid: Fluid, edition: Edition) -> float:
    return float(chemicals.GWP(REGISTRY[fluid], method=METHODS[edition]))


def against_library(fluid: Fluid, edition: Edition) -> Check:
    return Check(
        "global warming potential",
        f"{fluid}, {edition}",
        lambda: potential(fluid, edition).value,
        lambda: library(fluid, edition),
        1e-12,
        f"chemicals library, {METHODS[edition]}",
        "independent library",
    )


CHECKS = (
    Check(
        "global warming potential",
        "R-134a, AR4, in the rule",
        lambda: potential(Fluid.R134A, Edition.AR4).value,
        1430.0,
        1e-12,
        "40 CFR 98 Table A-1",
        "published",
    ),
    Check(
        "global warming potential",
        "R-1234yf, AR6, in the rule",
        lambda: potential(Fluid.R1234YF, Edition.AR6).value,
        0.501,
        1e-12,
        "Regulation (EU) 2024/573 Annex II",
        "published",
    ),
    Check(
        "global warming potential",
        "0.5 kg of R-134a, AR4, kg CO2",
        lambda: co2_equivalent(0.5, Fluid.R134A, Edition.AR4).co2_kg,
        715.0,
        1e-12,
        "0.5 x 1430",
        "arithmetic",
    ),
    *(
        against_library(row.fluid, row.edition)
        for row in POTENTIALS
        if (row.fluid, row.edition)
        != (Fluid.R1234YF, Edition.AR4)  # not in the report, so not in the library
    ),
)


@each(CHECKS)
def test_it_agrees_with_the_world_outside(check: Check) -> None:
    assert_holds(check)


def test_every_row_names_its_source_and_memory_is_admitted() -> None:
    assert all(row.source for row in POTENTIALS)
    assert "from memory" in potential(Fluid.R1234YF, Edition.AR4).source
    assert {row.fluid for row in POTENTIALS} == set(REFRIGERANTS)


def test_a_result_keeps_the_row_it_rests_on() -> None:
    result = co2_equivalent(0.5, Fluid.R134A, Edition.AR6)

    assert (result.co2_kg, result.potential.edition) == (765.0, Edition.AR6)


@pytest.mark.parametrize(
    ("day", "edition"),
    [
        (date(2010, 6, 1), Edition.AR4),
        (date(2014, 12, 31), Edition.AR4),
        (date(2015, 1, 1), Edition.AR5),
        (date(2024, 1, 1), Edition.AR6),
    ],
)
def test_the_newest_edition_of_a_day(day: date, edition: Edition) -> None:
    assert latest_edition(day) is edition


def test_questions_without_an_answer_are_refused() -> None:
    with pytest.raises(Refusal, match="No global warming potential is on file for water in AR6"):
        potential(Fluid.WATER, Edition.AR6)
    with pytest.raises(Refusal, match="No edition on file was out"):
        latest_edition(date(2001, 1, 1))
    with pytest.raises(Refusal, match="mass is missing or not a number"):
        co2_equivalent(math.nan, Fluid.R134A, Edition.AR6)
    with pytest.raises(Refusal, match="between 0 and 1 000 000 kg"):
        co2_equivalent(-0.1, Fluid.R134A, Edition.AR6)


@given(ANY_FLOAT, st.sampled_from(Fluid), st.sampled_from(Edition))
def test_any_mass_gives_a_result_or_a_refusal(mass: float, fluid: Fluid, edition: Edition) -> None:
    assert_sound(answer_or_refusal(lambda: co2_equivalent(mass, fluid, edition)))


@given(st.floats(0, 1e3), st.floats(0, 1e3), st.sampled_from(Edition))
def test_two_masses_add(first: float, second: float, edition: Edition) -> None:
    together = co2_equivalent(first + second, Fluid.R134A, edition).co2_kg
    apart = [co2_equivalent(mass, Fluid.R134A, edition).co2_kg for mass in (first, second)]

    assert together == pytest.approx(sum(apart))
