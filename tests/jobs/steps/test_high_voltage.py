"""High-voltage precautions: nothing passes by default."""

from __future__ import annotations

from datetime import date

import pytest

from jobs.choices import StepKind
from jobs.procedure import Outcome
from shopcool.core.months import add_months
from tests.jobs.steps.asking import ask, context

SAFE = {
    "isolated": "yes", "waited": "10", "measured_at": "inverter plug", "voltage": "0.4",
    "proved_before": "yes", "proved_after": "yes",
    "glove_class": "0", "gloves_tested_on": "2025-11-03", "gloves_checked": "yes",
}  # fmt: skip


class TestPrecautions:
    def test_prove_the_absence_of_voltage(self):
        answer = ask(StepKind.HIGH_VOLTAGE, SAFE)

        assert (answer.outcome, answer.satisfied) == (Outcome.SAFE, True)
        assert "maker_first" in answer.codes
        proved = next(finding for finding in answer.findings if finding.code == "de_energised")
        assert proved.sentence.startswith("0.4 V: no high voltage was found")
        assert (proved.limit, proved.source) == ("< 60 V", "49 CFR 571.305 S5.3(b) and UN R100: 60 V DC")

    @pytest.mark.parametrize(
        ("change", "code"),
        [
            ({"isolated": "no"}, "not_isolated"),
            ({"waited": "9"}, "wait_too_short"),
            # 60 V DC: 49 CFR 571.305 S5.3(b), UN R100.
            ({"voltage": "60"}, "voltage_present"),
            ({"proved_before": "no"}, "tester_not_proved"),
            ({"proved_after": "no"}, "tester_not_proved"),
            # 6 months after the test: 29 CFR 1910.137 table I-5.
            ({"gloves_tested_on": "2025-09-01"}, "gloves_out_of_date"),
            ({"gloves_tested_on": "2026-03-03"}, "gloves_out_of_date"),
            ({"gloves_checked": "no"}, "gloves_not_checked"),
        ],
    )
    def test_are_recorded_but_not_done_when_one_fails(self, change, code):
        answer = ask(StepKind.HIGH_VOLTAGE, SAFE | change)

        assert (answer.outcome, answer.satisfied) == (Outcome.NOT_SAFE, False)
        assert code in answer.codes

    def test_accept_59_volts(self):
        assert ask(StepKind.HIGH_VOLTAGE, SAFE | {"voltage": "59.9"}).satisfied

    def test_follow_the_vehicle_makers_waiting_time(self):
        by_maker = context(maker_wait_minutes=5)

        answer = ask(StepKind.HIGH_VOLTAGE, SAFE | {"waited": "5:00"}, by_maker)

        assert answer.satisfied
        assert "wait_not_by_maker" not in answer.codes

    def test_say_that_the_shops_own_waiting_time_was_used(self):
        assert "wait_not_by_maker" in ask(StepKind.HIGH_VOLTAGE, SAFE).codes

    def test_compare_the_glove_class_with_the_working_voltage(self):
        # Class 00: 500 V AC, 29 CFR 1910.137 table I-4.
        answer = ask(StepKind.HIGH_VOLTAGE, SAFE | {"glove_class": "00"}, context(working_voltage_v=800.0))

        assert "glove_class_too_low" in answer.codes
        assert not answer.satisfied

    @pytest.mark.parametrize(
        ("start", "months", "end"),
        [(date(2025, 8, 31), 6, date(2026, 2, 28)), (date(2025, 12, 1), 1, date(2026, 1, 1))],
    )
    def test_count_months_to_the_same_day_or_the_last_one(self, start, months, end):
        assert add_months(start, months) == end
