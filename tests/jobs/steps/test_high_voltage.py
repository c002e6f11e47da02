"""High-voltage precautions and the insulation test: nothing passes by default."""

from __future__ import annotations

from datetime import date

import pytest

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.high_voltage import add_months
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


READING = {
    "resistance": "550 MΩ", "between": "HV+ and housing", "disconnected": "compressor plug",
    "nominal_voltage": "500", "actual_voltage": "510", "applied": "60", "surface": "DRY",
    "limit": "10 MΩ", "limit_source": "workshop manual",
}  # fmt: skip


class TestInsulation:
    def test_passes_against_the_vehicle_makers_limit(self):
        assert ask(StepKind.INSULATION, READING).outcome is Outcome.PASSED

    def test_has_no_verdict_without_a_limit(self):
        answer = ask(StepKind.INSULATION, READING | {"limit": "", "limit_source": ""})

        assert (answer.outcome, answer.satisfied) == (Outcome.NO_VERDICT, True)
        assert "no_limit" in answer.codes

    def test_asks_where_the_limit_stands(self):
        with pytest.raises(ValuesInvalid, match="where the vehicle maker's limit stands"):
            ask(StepKind.INSULATION, READING | {"limit_source": ""})

    @pytest.mark.parametrize(
        ("typed", "outcome"),
        [
            ("> 2.2 GΩ", Outcome.PASSED),
            ("> 5 MΩ", Outcome.NO_VERDICT),
            ("< 0.1 MΩ", Outcome.FAILED),
            ("< 100 MΩ", Outcome.NO_VERDICT),
            ("OL", Outcome.NO_VERDICT),
            ("OL 4 GΩ", Outcome.PASSED),
            ("0.5", Outcome.FAILED),
            ("10", Outcome.PASSED),
        ],
    )
    def test_treats_over_range_readings_as_limits(self, typed, outcome):
        assert ask(StepKind.INSULATION, READING | {"resistance": typed}).outcome is outcome

    def test_is_a_fault_when_the_tester_breaks_down(self):
        # Open 500 V, 120 V under load: arithmetic of a loaded source.
        raw = READING | {"resistance": "0.15 MΩ", "actual_voltage": "120"}

        answer = ask(StepKind.INSULATION, raw)

        assert answer.outcome is Outcome.FAILED
        assert "tester_loaded" in answer.codes

    def test_at_500_volts_can_not_clear_an_800_volt_system(self):
        answer = ask(StepKind.INSULATION, READING, context(working_voltage_v=800.0))

        assert answer.outcome is Outcome.NO_VERDICT
        assert "test_voltage_too_low" in answer.codes

    def test_shows_the_legal_floor_of_the_vehicle_but_never_passes_by_it(self):
        # 400 V: 40 kΩ at 100 Ω/V, 200 kΩ at 500 Ω/V, UN R100 5.1.3.
        raw = READING | {"resistance": "0.5 MΩ", "limit": "", "limit_source": ""}

        answer = ask(StepKind.INSULATION, raw)

        floor = answer.output("vehicle_floor")
        assert floor is not None
        assert "40 kΩ" in floor.text
        assert "200 kΩ" in floor.text
        assert answer.outcome is Outcome.NO_VERDICT
