"""A compressor is replaced only when charge and airflow are on record."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import Answer
from jobs.steps.context import StepContext
from tests.jobs.steps.asking import ask, context, earlier
from tests.jobs.visit import BELT, Visit

COMPRESSOR = {"parts": "compressor", "compressor": "yes", "airflow_checked": "yes"}


def weighed(mass: str, visit: Visit | None = None) -> StepContext:
    """Return a visit on which this mass was recovered; the label says 550 g."""
    raw = {"into": "MACHINE", "machine": "1", "mass": mass, "ambient": "21", "pressure_returned": "no"}
    return context(visit, earlier=(earlier(StepKind.RECOVERY, raw),))


def wrong(raw: dict[str, str], known: StepContext) -> dict[str, list[str]]:
    with pytest.raises(ValuesInvalid, match=r".") as refused:
        ask(StepKind.PARTS, raw, known)
    return dict(refused.value.fields)


def codes(answer: Answer) -> set[str]:
    return set(answer.codes)


class TestCompressor:
    def test_is_refused_before_the_charge_was_weighed(self):
        assert wrong(COMPRESSOR, context())["compressor"] == [
            "No compressor is replaced before the charge was recovered and weighed."
        ]

    def test_is_refused_without_a_label_charge(self):
        known = weighed("540 g", Visit(replace(BELT, charge_kg=None)))

        assert "label charge" in wrong(COMPRESSOR, known)["compressor"][0]

    def test_is_refused_before_the_airflow_was_checked(self):
        raw = COMPRESSOR | {"airflow_checked": "no"}

        assert "air through the condenser" in wrong(raw, weighed("540 g"))["airflow_checked"][0]

    def test_names_everything_that_must_come_first_at_once(self):
        raw = COMPRESSOR | {"airflow_checked": "no"}

        assert set(wrong(raw, context())) == {"compressor", "airflow_checked"}

    def test_goes_when_everything_is_on_record(self):
        answer = ask(StepKind.PARTS, COMPRESSOR, weighed("540 g"))

        assert answer.outcome is Outcome.DONE
        assert "charge_and_airflow" in codes(answer)
        assert answer.output("charge_share").text == "98%"

    def test_with_a_short_charge_is_asked_to_wait_for_the_weighed_one(self):
        answer = ask(StepKind.PARTS, COMPRESSOR, weighed("300 g"))

        finding = next(f for f in answer.findings if f.code == "charge_first")
        assert finding.sentence == "The charge was 55% of the label: charge by weight and read again first."
        assert finding.limit == "85% – 110%"

    def test_of_an_empty_circuit_counts_as_weighed(self):
        visit = Visit(BELT).up_to_connection().did(StepKind.READINGS_BEFORE, Outcome.NO_PRESSURE)

        assert "charge_first" in codes(ask(StepKind.PARTS, COMPRESSOR, context(visit)))

    def test_is_no_question_for_other_parts(self):
        raw = {"parts": "condenser", "compressor": "no"}

        assert ask(StepKind.PARTS, raw, context()).output("charge_share") is None
