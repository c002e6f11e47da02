"""The insulation test: compressor or oil sample, the tester's voltage, the floors, the trend over visits."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from jobs.choices import ServiceKind, StepKind
from jobs.errors import ValuesInvalid
from jobs.pages.answers import answer_shown
from jobs.procedure import Outcome
from jobs.services.steps import step_try
from jobs.steps.answers import Answer, Finding, Tone
from jobs.steps.context import Past, StepContext
from jobs.steps.registry import step_of
from tests.jobs.bay import Bay
from tests.jobs.steps.asking import ask, context, earlier, values

READING = {
    "test": "COMPONENT", "resistance": "550 MΩ", "between": "HV+ and housing",
    "disconnected": "compressor plug",
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

    def test_a_panel_without_a_limit_ticks_nothing_off(self):
        shown = answer_shown(ask(StepKind.INSULATION, READING | {"limit": "", "limit_source": ""}))

        assert (shown.tone, shown.word) == ("plain", "No verdict")
        assert shown.sentence == "Without the vehicle maker's limit there is no verdict."
        assert answer_shown(ask(StepKind.INSULATION, READING)).tone == "good"

    @pytest.mark.parametrize(("typed", "said"), [("> 2,2 GΩ", "> 2.2 GΩ"), ("OL", "OL"), ("550", "550 MΩ")])
    def test_says_a_reading_with_no_more_digits_than_a_tester_has(self, typed, said):
        output = ask(StepKind.INSULATION, READING | {"resistance": typed}).output("resistance")

        assert output is not None
        assert output.text == said

    def test_warns_of_electronics_before_anything_is_measured(self):
        between = next(spec for spec in step_of(StepKind.INSULATION).fields if spec.name == "between")

        # Common practice: built-in electronics are not tested with the insulation tester.
        assert "can destroy electronics inside the compressor" in str(between.help)

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

    def test_shows_absorption_ratios_that_decide_nothing(self):
        # One minute over half a minute, ten minutes over one: the quotients of IEEE 43.
        followed = {"followed": "yes", "after_30_s": "400", "after_60_s": "520", "after_600_s": "1.04 GΩ"}

        answer = ask(StepKind.INSULATION, READING | followed)
        without_limit = ask(StepKind.INSULATION, READING | followed | {"limit": "", "limit_source": ""})

        assert answer.output("absorption").si == pytest.approx(1.3)
        assert answer.output("polarisation").si == pytest.approx(2.0)
        assert "ratios_shown_only" in answer.codes
        assert without_limit.outcome is Outcome.NO_VERDICT

    @pytest.mark.parametrize(
        ("last", "field", "words"),
        [("6 GΩ", "after_600_s", "polarisation index means nothing"), ("0", "after_600_s", "resistance")],
    )
    def test_refuses_a_ratio_that_means_nothing_beside_its_field(self, last, field, words):
        followed = {"followed": "yes", "after_30_s": "5 GΩ", "after_60_s": "5.5 GΩ", "after_600_s": last}

        with pytest.raises(ValuesInvalid) as refusal:
            ask(StepKind.INSULATION, READING | followed)

        assert list(refusal.value.fields) == [field]
        assert words in refusal.value.fields[field][0]

    def test_makes_no_ratio_of_readings_beyond_the_range(self):
        followed = {"followed": "yes", "after_30_s": "> 2.2 GΩ", "after_60_s": "> 2.2 GΩ"}

        answer = ask(StepKind.INSULATION, READING | followed)

        assert answer.output("absorption") is None
        assert "ratios_shown_only" in answer.codes

    def test_shows_another_temperature_as_what_it_is(self):
        # Halving per 10 K, the rule of thumb of IEEE 43: 12 MΩ at 40 °C are 48 MΩ at 20 °C.
        warm = READING | {"resistance": "12", "temperature": "40", "limit": "20 MΩ"}

        answer = ask(StepKind.INSULATION, warm)

        assert answer.output("at_reference").si == pytest.approx(48e6)
        assert "reference_shown_only" in answer.codes
        assert answer.outcome is Outcome.FAILED  # the reading itself decides, not what a rule makes of it

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

    def test_below_the_floor_of_the_whole_vehicle_fails_even_without_a_limit(self):
        # 400 V at 100 Ω/V are 40 kΩ, UN R100 5.1.3.
        answer = ask(StepKind.INSULATION, READING | {"resistance": "30 kΩ", "limit": "", "limit_source": ""})

        assert answer.outcome is Outcome.FAILED
        assert _finding(answer, "below_vehicle_floor").limit == "≥ 40 kΩ"

    def test_between_the_floors_of_both_kinds_of_bus_is_said_to_be_there(self):
        answer = ask(StepKind.INSULATION, READING | {"resistance": "0.1 MΩ"})

        assert _finding(answer, "below_coupled_floor").limit == "≥ 200 kΩ"
        assert "above_vehicle_floor" not in answer.codes


class TestTester:
    collapsed = READING | {"resistance": "0.15 MΩ", "actual_voltage": "120"}

    def test_that_collapses_shows_its_current_and_what_it_could_still_prove(self):
        # Ohm's law: 120 V / 0.15 MΩ = 0.80 mA; (500 - 120) V / 0.80 mA = 0.475 MΩ inside the tester;
        # 500 V / 0.475 MΩ = 1.05 mA; 450 V of 500 V need 0.475 MΩ × 450 / 50 = 4.275 MΩ.
        answer = ask(StepKind.INSULATION, self.collapsed)

        assert [_text(answer, name) for name in ("current", "short_circuit", "holds_above")] == [
            "0.80 mA",
            "1.05 mA",
            "4.28 MΩ",
        ]

    def test_is_compared_with_the_milliampere_of_the_standard(self):
        # IEC 61557-2:2019 6.4: 1 mA at 1000 Ω/V, here 500 kΩ. 500 V / (0.5 + 0.475) MΩ = 0.51 mA.
        reach = _finding(ask(StepKind.INSULATION, self.collapsed), "tester_reach")

        assert reach.sentence == (
            "It delivers 0.51 mA into 500 kΩ, not the 1 mA of the standard, and holds its voltage only above "
            "4.28 MΩ: below that it finds faults, but proves no value."
        )

    def test_is_reckoned_from_its_own_open_voltage_when_that_was_read(self):
        answer = ask(StepKind.INSULATION, self.collapsed | {"open_voltage": "560"})

        # (560 - 120) V / 0.80 mA = 0.55 MΩ; 560 V / 0.55 MΩ = 1.02 mA.
        assert _text(answer, "short_circuit") == "1.02 mA"

    def test_that_holds_its_voltage_says_nothing(self):
        answer = ask(StepKind.INSULATION, READING)

        assert answer.output("current") is None
        assert {"tester_loaded", "actual_voltage_missing"}.isdisjoint(answer.codes)


SAMPLE = {
    "test": "OIL_SAMPLE", "resistance": "> 2.2 GΩ", "mixed": "yes", "nominal_voltage": "500",
    "actual_voltage": "505", "applied": "60",
}  # fmt: skip


class TestOilSample:
    def test_beyond_the_range_shows_nothing_conductive_and_no_pass_of_the_compressor(self):
        answer = ask(StepKind.INSULATION, SAMPLE)

        assert (answer.outcome, answer.satisfied) == (Outcome.NO_VERDICT, False)
        assert {"over_range", "compressor_not_tested"} <= answer.codes

    def test_counts_once_the_compressor_was_tested_too(self):
        tested = context(earlier=(earlier(StepKind.INSULATION, READING),))

        assert ask(StepKind.INSULATION, SAMPLE, tested).satisfied

    def test_that_falls_as_it_is_mixed_is_contaminated(self):
        answer = ask(StepKind.INSULATION, SAMPLE | {"unmixed": "> 2.2 GΩ", "resistance": "3 MΩ"})

        assert answer.outcome is Outcome.FAILED
        assert "had settled out" in _finding(answer, "falling_with_mixing").sentence

    def test_that_pulls_the_tester_down_conducts(self):
        answer = ask(StepKind.INSULATION, SAMPLE | {"resistance": "0.15 MΩ", "actual_voltage": "120"})

        assert answer.outcome is Outcome.FAILED
        assert _text(answer, "current") == "0.80 mA"

    def test_that_was_not_mixed_is_not_judged(self):
        answer = ask(StepKind.INSULATION, SAMPLE | {"mixed": "no"})

        assert "Judged only when mixed" in _finding(answer, "not_mixed").sentence

    def test_is_compared_with_new_oil(self):
        answer = ask(StepKind.INSULATION, SAMPLE | {"resistance": "40 MΩ", "new_oil": "> 2.2 GΩ"})

        assert answer.outcome is Outcome.FAILED
        assert "lower_than_new" in answer.codes

    def test_beyond_an_unknown_range_asks_where_it_ends(self):
        with pytest.raises(ValuesInvalid, match="where the tester's range ends"):
            ask(StepKind.INSULATION, SAMPLE | {"resistance": "OL"})


WARM = READING | {"temperature": "21 °C"}


class TestTrend:
    def test_of_visits_at_like_conditions_tells_a_fall_and_what_is_left(self):
        # Halved each year: the factor is 0.5 by construction, and a quarter is left after two more years.
        answer = ask(
            StepKind.INSULATION, WARM | {"resistance": "50 MΩ"}, _halving("400 MΩ", "200 MΩ", "100 MΩ")
        )

        falling = _finding(answer, "falling")
        assert falling.tone is Tone.WARNING
        assert "becomes 0.50 of what it was" in falling.sentence
        assert "12.5 MΩ would be left at the next visit" in falling.sentence

    def test_warns_when_the_line_meets_the_limit_before_the_next_visit(self):
        known = _halving("400 MΩ", "200 MΩ", "100 MΩ")

        answer = ask(StepKind.INSULATION, WARM | {"resistance": "50 MΩ", "limit": "20 MΩ"}, known)

        assert "meets the limit before the next visit" in _finding(answer, "falling_to_limit").sentence

    def test_is_drawn_with_limits_as_such(self):
        answer = ask(StepKind.INSULATION, WARM, _halving("> 550 MΩ", "540 MΩ"))

        (plot,) = answer.plots
        assert [(mark.y, mark.beyond) for mark in plot.marks] == [
            (pytest.approx(550), True),
            (pytest.approx(540), False),
            (pytest.approx(550), False),
        ]
        assert plot.level is not None
        assert plot.level.y == pytest.approx(10)
        assert Answer.from_record(answer.as_record()) == answer

    @pytest.mark.parametrize(
        "change", [{"nominal_voltage": "1000"}, {"temperature": "45 °C"}, {"surface": "WET"}]
    )
    def test_leaves_out_readings_at_other_conditions(self, change):
        known = context(history=[_past(1, WARM | {"actual_voltage": ""} | change)])

        assert ask(StepKind.INSULATION, WARM, known).plots == ()

    def test_of_two_visits_is_shown_without_a_line(self):
        answer = ask(StepKind.INSULATION, WARM, _halving("600 MΩ"))

        assert "needs at least three visits" in _finding(answer, "no_trend_yet").sentence
        assert answer.plots[0].line == ()

    @pytest.mark.django_db
    def test_reads_the_closed_visits_of_the_same_circuit(self, workshop):
        first = Bay(workshop, service=ServiceKind.INSULATION).checked_in()
        for kind in (StepKind.LABEL, StepKind.HIGH_VOLTAGE):
            first.record(kind)
        first.record(StepKind.INSULATION, resistance="400 MΩ", temperature="20 °C")
        first.close(next_service_on="2028-03-02")
        workshop.now += timedelta(days=200)
        second = first.again()
        second.record(StepKind.LABEL)
        second.record(StepKind.HIGH_VOLTAGE, gloves_tested_on="2026-08-03")

        answer = step_try(
            actor=second.technician,
            job=second.job,
            kind=StepKind.INSULATION,
            raw=second.raw(StepKind.INSULATION, resistance="100 MΩ", temperature="22 °C"),
            now=workshop.now,
        )

        assert [mark.y for mark in answer.plots[0].marks] == [pytest.approx(400), pytest.approx(100)]


def _past(years_ago: int, raw: dict[str, str]) -> Past:
    at = datetime(2026 - years_ago, 3, 2, 9, tzinfo=UTC)
    found = values(StepKind.INSULATION, raw)
    return Past(StepKind.INSULATION, at, f"J-{years_ago}", found, Answer(Outcome.DONE))


def _halving(*readings: str) -> StepContext:
    """Return a context with one earlier visit a year, the last one a year ago."""
    visits = [
        _past(len(readings) - at, WARM | {"resistance": reading}) for at, reading in enumerate(readings)
    ]
    return context(history=visits)


def _finding(answer: Answer, code: str) -> Finding:
    return next(finding for finding in answer.findings if finding.code == code)


def _text(answer: Answer, name: str) -> str:
    output = answer.output(name)
    assert output is not None
    return output.text
