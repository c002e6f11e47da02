"""What a purged hose may carry over is an estimate against limits whose basis is said."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering.carry_over import (
    LIMITS,
    Basis,
    CarryOver,
    Certainty,
    Limit,
    Purging,
    Verdict,
    carry_over,
    kept_per_purge,
)
from shopcool.engineering.errors import Refusal
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each
from tests.engineering.soundness import ANY_FLOAT, assert_sound

OIL_TENTH = Limit("0.1 % of the oil", 0.001, Basis.OIL_OF_CIRCUIT, "test", Certainty.MEMORY)
OIL_PERCENT = Limit("1 % of the oil", 0.01, Basis.OIL_OF_CIRCUIT, "test", Certainty.SECONDARY)
CHARGE_TENTH = Limit("0.1 % of the charge", 0.001, Basis.REFRIGERANT_CHARGE, "test", Certainty.MEMORY)


def estimate(
    *, purges: int = 0, mixing: float = 1.0, limits: tuple[Limit, ...] = LIMITS, residue_kg: float = 2e-3
) -> CarryOver:
    """Two grams of oil in a hose of 43 ml, purged by its own volume, 120 g of oil and 500 g of charge."""
    return carry_over(
        residue_kg,
        hose_volume_m3=43e-6,
        purge_volume_m3=43e-6,
        purges=purges,
        oil_kg=0.120,
        refrigerant_kg=0.500,
        mixing=mixing,
        limits=limits,
    )


def share(limit: Limit) -> float:
    return estimate(limits=(limit,)).checks[0].share


CHECKS = (
    Check(
        "carry-over",
        "three volumes flowing through leave",
        lambda: kept_per_purge(1e-5, 3e-5, Purging.FLOW_THROUGH, 1.0),
        math.exp(-3),
        1e-12,
        "e^-3 = 4.98 %",
        "arithmetic",
    ),
    Check(
        "carry-over",
        "five equal batches leave",
        lambda: kept_per_purge(1e-5, 1e-5, Purging.FILL_AND_DRAIN, 1.0) ** 5,
        1 / 32,
        1e-12,
        "halved five times",
        "arithmetic",
    ),
    Check(
        "carry-over",
        "2 g in 120 g of oil",
        lambda: share(OIL_TENTH),
        0.0164,
        3e-3,
        "2 / 122",
        "arithmetic",
    ),
    Check(
        "carry-over",
        "2 g in 500 g of refrigerant",
        lambda: share(CHARGE_TENTH),
        0.0040,
        5e-3,
        "2 / 502",
        "arithmetic",
    ),
    Check(
        "carry-over",
        "limit of residual oil in the charge, 2007",
        lambda: LIMITS[0].share,
        0.01,
        1e-12,
        "SAE J2788 in 40 CFR 82 Subpart B Appendix C, 8.9.5",
        "published",
    ),
)


@each(CHECKS)
def test_it_agrees_with_the_world_outside(check: Check) -> None:
    assert_holds(check)


@pytest.mark.parametrize(
    ("limit", "needed"),
    [(OIL_TENTH, (5, 8, 18)), (CHARGE_TENTH, (2, 4, 9)), (OIL_PERCENT, (1, 2, 4))],
    ids=lambda value: value.name if isinstance(value, Limit) else "",
)
def test_the_same_number_means_different_work_on_another_basis(
    limit: Limit, needed: tuple[int, int, int]
) -> None:
    purges = tuple(
        estimate(mixing=mixing, limits=(limit,)).checks[0].purges_needed for mixing in (1.0, 0.6, 0.3)
    )

    assert purges == needed


def test_the_purges_that_are_needed_are_enough_and_one_fewer_is_not() -> None:
    assert estimate(purges=5, limits=(OIL_TENTH,)).verdict is Verdict.WITHIN_ALL
    assert estimate(purges=4, limits=(OIL_TENTH,)).verdict is Verdict.ABOVE_SOME


def test_every_limit_of_the_set_must_be_met() -> None:
    result = estimate(purges=1)

    assert [check.met for check in result.checks] == [True, False, True]
    assert result.verdict is Verdict.ABOVE_SOME
    assert result.checks[1].limit.certainty is Certainty.MEMORY


def test_it_stays_an_estimate_that_permits_nothing() -> None:
    codes = {notice.code: notice.message for notice in estimate().warnings}

    assert "never permits a connection" in codes["estimate"]
    assert "can't be computed" in codes["no_conductivity"]


def test_purging_with_nothing_never_gets_there() -> None:
    result = carry_over(
        2e-3,
        hose_volume_m3=43e-6,
        purge_volume_m3=0.0,
        purges=3,
        oil_kg=0.120,
        refrigerant_kg=0.5,
        mixing=1.0,
    )

    assert result.residue_after_kg == 2e-3
    assert result.checks[1].purges_needed is None


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"residue_kg": -1.0}, "mass must be between 0 g"),
        ({"oil_kg": 0.0}, "mass must be between 1 g"),
        ({"hose_volume_m3": 0.0}, "between 1 ml and 100 litres"),
        ({"mixing": 1.1}, "share must be between 0 and 1"),
        ({"purges": -1}, "number of purges"),
        ({"purges": 1.5}, "number of purges"),
        ({"limits": ()}, "at least one limit with its basis"),
        ({"residue_kg": math.nan}, "mass is missing or not a number"),
    ],
)
def test_nonsense_is_refused(changed: dict[str, object], sentence: str) -> None:
    ordinary: dict[str, object] = {
        "residue_kg": 2e-3,
        "hose_volume_m3": 43e-6,
        "purge_volume_m3": 43e-6,
        "purges": 1,
        "oil_kg": 0.12,
        "refrigerant_kg": 0.5,
        "mixing": 0.5,
    }

    with pytest.raises(Refusal, match=sentence):
        carry_over(**{**ordinary, **changed})


@given(st.lists(ANY_FLOAT, min_size=7, max_size=7), st.integers(-2, 1002), st.sampled_from(Purging))
def test_any_numbers_give_a_result_or_a_refusal(numbers: list[float], purges: int, purging: Purging) -> None:
    residue, hose, purge, oil, refrigerant, mixing, transferred = numbers
    assert_sound(
        answer_or_refusal(
            lambda: carry_over(
                residue,
                hose_volume_m3=hose,
                purge_volume_m3=purge,
                purges=purges,
                oil_kg=oil,
                refrigerant_kg=refrigerant,
                mixing=mixing,
                transferred=transferred,
                purging=purging,
            )
        )
    )


@given(st.floats(0, 1), st.integers(0, 50), st.floats(1e-4, 1))
def test_more_purging_never_leaves_more(mixing: float, purges: int, residue: float) -> None:
    before = estimate(purges=purges, mixing=mixing, residue_kg=residue)
    after = estimate(purges=purges + 1, mixing=mixing, residue_kg=residue)

    assert after.residue_after_kg <= before.residue_after_kg
    assert all(b.share >= a.share for b, a in zip(before.checks, after.checks, strict=True))
