"""When work is due, and whether a check was passed: pure rules."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equipment.maintenance.choices import WorkOutcome
from equipment.maintenance.judging import ScaleReadings, findings_told, judge_scale, tolerance_of
from equipment.maintenance.rules import (
    Interval,
    Measure,
    Used,
    due_on,
    gloves_due_on,
    is_reached,
    limits,
)
from shopcool.core.months import add_months
from shopcool.shop.units import Units

DAYS = st.dates(min_value=date(2000, 1, 1), max_value=date(2100, 12, 31))


class TestCalendar:
    @pytest.mark.parametrize(
        ("start", "months", "end"),
        [
            (date(2026, 1, 31), 1, date(2026, 2, 28)),
            (date(2028, 1, 31), 1, date(2028, 2, 29)),
            (date(2026, 8, 31), 6, date(2027, 2, 28)),
            (date(2024, 2, 29), 12, date(2025, 2, 28)),
            (date(2026, 12, 1), 1, date(2027, 1, 1)),
        ],
    )
    def test_a_month_without_that_day_ends_on_its_last(self, start: date, months: int, end: date) -> None:
        assert due_on(Interval(months=months), start) == end

    @given(start=DAYS, months=st.integers(1, 240))
    def test_months_keep_their_count_and_never_pass_the_day(self, start: date, months: int) -> None:
        end = add_months(start, months)

        assert (end.year - start.year) * 12 + end.month - start.month == months
        is_last_of_month = (end + timedelta(days=1)).day == 1
        assert end.day == start.day or (end.day < start.day and is_last_of_month)

    @given(start=DAYS, first=st.integers(1, 120), second=st.integers(1, 120))
    def test_more_months_never_end_earlier(self, start: date, first: int, second: int) -> None:
        assert add_months(start, first) <= add_months(start, first + second)

    def test_of_months_and_days_the_earlier_counts(self) -> None:
        start = date(2026, 3, 2)

        assert due_on(Interval(months=1, days=10), start) == date(2026, 3, 12)
        assert due_on(Interval(months=1, days=90), start) == date(2026, 4, 2)

    def test_without_months_and_days_no_day_is_named(self) -> None:
        assert due_on(Interval(jobs=50), date(2026, 3, 2)) is None


class TestGloves:
    """29 CFR 1910.137(c)(2)(viii) table I-5 with its footnote."""

    TESTED = date(2026, 1, 15)

    @pytest.mark.parametrize(
        ("issued", "due"),
        [
            pytest.param(None, date(2027, 1, 15), id="in store: twelve months from the test"),
            pytest.param(date(2026, 1, 15), date(2026, 7, 15), id="issued on the day of the test"),
            pytest.param(date(2026, 11, 1), date(2027, 5, 1), id="issued later: six months from the issue"),
            pytest.param(date(2027, 1, 15), date(2027, 7, 15), id="issued on the last day that counts"),
            pytest.param(date(2027, 1, 16), date(2027, 1, 15), id="issued too late: overdue at once"),
            pytest.param(date(2025, 6, 1), date(2026, 7, 15), id="in use: six months from each test"),
        ],
    )
    def test_six_months_after_issue_and_twelve_before(self, issued: date | None, due: date) -> None:
        assert gloves_due_on(self.TESTED, issued) == due

    @given(tested=DAYS, issued=st.none() | DAYS)
    def test_are_never_used_longer_than_eighteen_months_after_a_test(
        self, tested: date, issued: date | None
    ) -> None:
        assert tested < gloves_due_on(tested, issued) <= add_months(tested, 18)


class TestUse:
    @pytest.mark.parametrize(
        ("used", "reached"),
        [
            (Used(kg=67.9, jobs=499, hours=39.9), False),
            (Used(kg=68.0), True),
            (Used(jobs=500), True),
            (Used(hours=40.0), True),
        ],
    )
    def test_any_limit_that_is_used_up_is_reached(self, used: Used, reached: bool) -> None:
        assert is_reached(Interval(hours=40.0, kg=68.0, jobs=500), used) is reached

    def test_a_limit_that_is_not_set_is_never_reached(self) -> None:
        assert not is_reached(Interval(months=12), Used(hours=9e9, kg=9e9, jobs=9_999_999))

    def test_the_nearest_limit_comes_first_with_what_remains(self) -> None:
        start, today = date(2026, 1, 1), date(2026, 4, 2)

        found = limits(
            Interval(months=12, kg=68.0), Used(kg=51.0), start=start, end=date(2027, 1, 1), today=today
        )

        assert [limit.measure for limit in found] == [Measure.MASS, Measure.DAYS]
        assert [limit.remaining for limit in found] == [17.0, 274]

    def test_what_is_used_beyond_a_limit_leaves_nothing(self) -> None:
        (limit,) = limits(
            Interval(jobs=10), Used(jobs=12), start=date(2026, 1, 1), end=None, today=date(2026, 1, 2)
        )

        assert (limit.remaining, limit.share) == (0, 1.2)


class TestScale:
    """SAE J2788 section 9.1: 500 g chosen, 485 to 515 g charged (the standard's own example)."""

    @pytest.mark.parametrize(
        ("shown", "outcome"),
        [
            (0.485, WorkOutcome.PASSED),
            (0.500, WorkOutcome.PASSED),
            (0.515, WorkOutcome.PASSED),
            (0.484, WorkOutcome.FAILED),
            (0.516, WorkOutcome.FAILED),
        ],
    )
    def test_passes_within_fifteen_grams(self, shown: float, outcome: WorkOutcome) -> None:
        assert judge_scale(ScaleReadings(0.5, shown), tolerance_of(None, None), Units()).outcome is outcome

    def test_what_it_shows_after_the_adjustment_decides_and_what_it_showed_before_is_told(self) -> None:
        judgement = judge_scale(ScaleReadings(5.0, 5.022, 5.001), 0.015, Units())

        assert judgement.outcome is WorkOutcome.PASSED
        assert "Before the adjustment it showed 22 g more" in judgement.findings[0]

    def test_a_scale_that_is_still_off_fails_with_the_difference(self) -> None:
        judgement = judge_scale(ScaleReadings(5.0, 5.040, 4.970), 0.015, Units())

        assert judgement.outcome is WorkOutcome.FAILED
        assert judgement.findings == ("It shows 30 g less than the reference mass; ±15 g is allowed.",)

    def test_tenths_of_a_gram_are_told_where_they_decide(self) -> None:
        judgement = judge_scale(ScaleReadings(5.0, 5.0154), 0.015, Units())

        assert judgement.findings == ("It shows 15.4 g more than the reference mass; ±15 g is allowed.",)

    def test_what_was_found_in_grams_is_told_in_ounces_to_who_reads_ounces(self) -> None:
        stored = judge_scale(ScaleReadings(5.0, 5.040, 4.970), 0.015, Units()).as_record()

        # 30 g and 15 g of 28.349523125 g to the ounce (NIST SP 811:2008, appendix B).
        assert findings_told([*stored, "An old one: 30 g."], Units(mass="oz")) == [
            "It shows 1.06 oz (30 g) less than the reference mass; ±0.53 oz (15 g) is allowed.",
            "An old one: 30 g.",
        ]
        assert findings_told(stored, Units()) == [stored[0]["sentence"]]

    def test_the_plan_knows_better_than_the_machine_and_the_machine_than_the_standard(self) -> None:
        assert tolerance_of(0.005, 0.010) == 0.005
        assert tolerance_of(None, 0.010) == 0.010
        assert tolerance_of(None, None) == 0.015
