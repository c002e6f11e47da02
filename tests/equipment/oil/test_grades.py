"""Whether a lot may be dispensed, and when two labels name the same grade: pure rules."""

from __future__ import annotations

from dataclasses import replace

import pytest

from equipment.oil.grades import LotFacts, LotState, lot_state, same_grade

OPEN = LotFacts(volume_m3=100e-6, days_open=3, limit_days=30, low_m3=50e-6)


@pytest.mark.parametrize(
    ("changes", "state"),
    [
        ({}, LotState.OPEN),
        ({"days_open": None}, LotState.SEALED),
        ({"volume_m3": 50e-6}, LotState.LOW),
        ({"volume_m3": 0.0}, LotState.EMPTY),
        ({"days_open": 30}, LotState.OPEN),
        ({"days_open": 31}, LotState.OPEN_TOO_LONG),
        ({"days_open": 400, "limit_days": None}, LotState.OPEN),
        ({"test_against": True}, LotState.TEST_AGAINST),
        ({"test_against": True, "is_bad": True, "days_open": 31}, LotState.BAD),
    ],
)
def test_the_gravest_state_of_a_lot_is_told(changes: dict[str, object], state: LotState) -> None:
    assert lot_state(replace(OPEN, **changes)) is state  # type: ignore[arg-type]


def test_only_a_sound_lot_may_be_dispensed() -> None:
    assert {state for state in LotState if state.may_be_dispensed} == {
        LotState.LOW,
        LotState.OPEN,
        LotState.SEALED,
    }


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("POE 68", "poe68", True),
        (" Poe  68 ", "POE 68", True),
        ("POE 68", "POE 46", False),
        ("POE 68", "POE 680", False),
        ("", "", False),
    ],
)
def test_capitals_and_spaces_make_no_other_grade(one: str, other: str, same: bool) -> None:
    assert same_grade(one, other) is same
