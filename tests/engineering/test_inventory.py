"""A stock that disagrees with the books is only missing when the scales can't explain it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering.errors import Refusal
from shopcool.engineering.inventory import Inventory, Movement, Verdict, inventory
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each
from tests.engineering.soundness import ANY_FLOAT, assert_sound


def stock(measured_kg: float, movements: list[Movement], *, gain_error: float = 0.0) -> Inventory:
    return inventory(
        30.0,
        measured_kg,
        movements,
        scale_accuracy_kg=0.015,
        scale_resolution_kg=0.0,
        gain_error=gain_error,
    )


def two_hundred_weighings() -> Inventory:
    """198 charges of 100 g, and the opening and closing stock."""
    return stock(30.0 - 19.8 - 0.1, [Movement(-0.1)] * 198)


CHECKS = (
    Check(
        "inventory",
        "standard deviation of ±15 g, g",
        lambda: 1000 * stock(30.0, []).uncertainty_kg / 2 / math.sqrt(2),
        8.66,
        1e-3,
        "rectangular distribution, 15 / sqrt(3)",
        "arithmetic",
    ),
    Check(
        "inventory",
        "expanded uncertainty of 200 weighings, g",
        lambda: 1000 * two_hundred_weighings().uncertainty_kg,
        245.0,
        1e-3,
        "2 sqrt(200) 15 / sqrt(3)",
        "arithmetic",
    ),
    Check(
        "inventory",
        "charge accuracy of a machine, g",
        lambda: 1000 * stock(30.0, []).scale_accuracy_kg,
        15.0,
        1e-12,
        "SAE J2788 in 40 CFR 82 Subpart B Appendix C, 9.1",
        "published",
    ),
)


@each(CHECKS)
def test_it_agrees_with_the_world_outside(check: Check) -> None:
    assert_holds(check)


def test_a_hundred_grams_missing_after_two_hundred_weighings_mean_nothing() -> None:
    result = two_hundred_weighings()

    assert result.difference_kg == pytest.approx(-0.1)
    assert result.verdict is Verdict.AGREES
    assert "it means nothing" in result.sentence


def test_a_difference_beyond_the_scales_is_named_by_its_sign() -> None:
    assert stock(29.9, []).verdict is Verdict.SHORT
    assert stock(30.1, []).verdict is Verdict.SURPLUS


def test_another_scale_adds_its_gain_and_the_own_one_does_not() -> None:
    own = stock(20.0, [Movement(-10.0)], gain_error=0.01)
    other = stock(20.0, [Movement(-10.0, other_scale=True)], gain_error=0.01)

    assert own.uncertainty_kg == pytest.approx(stock(20.0, [Movement(-10.0)]).uncertainty_kg)
    assert other.uncertainty_kg == pytest.approx(2 * math.hypot(0.015, 0.01 / math.sqrt(3) * 10), rel=1e-9)


def test_drift_needs_a_check_weight() -> None:
    assert "weigh a check weight" in stock(30.0, []).warnings[0].message


@given(st.lists(st.floats(-5, 5), max_size=30))
def test_the_books_balance_whatever_the_order(masses: list[float]) -> None:
    forward = stock(30.0, [Movement(mass) for mass in masses])
    backward = stock(30.0, [Movement(mass) for mass in reversed(masses)])

    assert forward.expected_kg == backward.expected_kg == pytest.approx(30.0 + math.fsum(masses))
    assert forward.uncertainty_kg >= stock(30.0, []).uncertainty_kg


@pytest.mark.parametrize(
    ("opening", "accuracy", "gain", "sentence"),
    [
        (-1.0, 0.015, 0.0, "stock must be between 0"),
        (math.nan, 0.015, 0.0, "mass is missing or not a number"),
        (1.0, -0.1, 0.0, "Accuracy and step of the scale"),
        (1.0, 0.015, 2.0, "gain error must be between 0 and 50 %"),
    ],
)
def test_nonsense_is_refused(opening: float, accuracy: float, gain: float, sentence: str) -> None:
    with pytest.raises(Refusal, match=sentence):
        inventory(opening, 1.0, [], scale_accuracy_kg=accuracy, scale_resolution_kg=0.0, gain_error=gain)


@given(st.lists(ANY_FLOAT, min_size=5, max_size=5), st.lists(st.tuples(ANY_FLOAT, st.booleans()), max_size=5))
def test_any_numbers_give_a_result_or_a_refusal(
    numbers: list[float], movements: list[tuple[float, bool]]
) -> None:
    opening, measured, accuracy, resolution, gain = numbers
    assert_sound(
        answer_or_refusal(
            lambda: inventory(
                opening,
                measured,
                [Movement(*movement) for movement in movements],
                scale_accuracy_kg=accuracy,
                scale_resolution_kg=resolution,
                gain_error=gain,
            )
        )
    )
