"""The page of check values says what the tests say."""

from __future__ import annotations

import pytest

from tests.engineering.checks import Check, all_checks, assert_holds, table
from tests.engineering.write_checks import PAGE


def test_the_committed_page_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == table(all_checks()), (
        "run python -m tests.engineering.write_checks"
    )


def test_every_computation_is_checked_against_the_outside_at_least_twice() -> None:
    outside: dict[str, int] = {}
    for check in all_checks():
        outside[check.computation] = outside.get(check.computation, 0) + (check.kind != "from memory")

    assert {name: count for name, count in outside.items() if count < 2} == {}


def test_a_value_outside_its_tolerance_fails() -> None:
    check = Check("arithmetic", "two", lambda: 2.01, 2.0, 1e-3, "counting", "arithmetic")

    with pytest.raises(AssertionError, match=r"two: 2\.01 against 2 \(counting\)"):
        assert_holds(check)
