"""A car on the bay whose steps are tried through the service: the answers of a real job, nothing recorded."""

from __future__ import annotations

from typing import Any

import pytest

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.pages.diagnosis import DiagnosisShown
from jobs.pages.meaning import meaning_of_typed
from jobs.services.steps import step_try
from jobs.steps.answers import Answer, Finding, Output
from jobs.steps.reading import read_values
from jobs.steps.registry import step_of
from tests.jobs.bay import Bay

#: How a running car is read: everything as the test asks for it.
STEADY = {
    "state": "RUNNING", "ambient": "30", "mode": "cabin_cooling", "compressor": "fixed_belt",
    "steady": "10", "blower": "FULL", "recirculation": "yes", "doors_open": "yes",
}  # fmt: skip


class Car:
    """One vehicle with its job; ``bay`` tells how far the work is."""

    def __init__(self, bay: Bay) -> None:
        self.bay = bay

    def tried(self, kind: StepKind, **typed: Any) -> Answer:
        """Return what the rules say about a step with these answers changed."""
        return self.asked(kind, self.bay.raw(kind, **typed))

    def asked(self, kind: StepKind, raw: dict[str, Any]) -> Answer:
        """Return what the rules say about exactly these answers."""
        bay = self.bay
        return step_try(actor=bay.technician, job=bay.job, kind=kind, raw=raw, now=bay.workshop.now)

    def refused(self, kind: StepKind, **typed: Any) -> dict[str, list[str]]:
        """Return the fields that are refused with their sentences."""
        with pytest.raises(ValuesInvalid, match=r".") as caught:
            self.tried(kind, **typed)
        return caught.value.by_field

    def running(self, low: str, high: str, **more: Any) -> Answer:
        """Return what a running pair of pressures says."""
        return self.asked(StepKind.READINGS_BEFORE, STEADY | {"low": low, "high": high} | more)

    def standing(self, pressure: str, celsius: str, **more: Any) -> Answer:
        """Return what a pressure at rest says, with both gauges and the metal alike."""
        raw = {"state": "STATIC", "low": pressure, "high": pressure, "ambient": celsius, "metal": celsius}
        return self.asked(StepKind.READINGS_BEFORE, raw | more)

    def diagnosis(self, low: str, high: str, **more: Any) -> DiagnosisShown:
        """Return the ranked causes as the page shows them."""
        situation = self.bay.situation
        raw = STEADY | {"low": low, "high": high} | more
        values = read_values(step_of(StepKind.READINGS_BEFORE).fields, raw, situation.context)
        meaning = meaning_of_typed(situation, StepKind.READINGS_BEFORE, values)
        assert meaning is not None
        assert meaning.diagnosis is not None
        return meaning.diagnosis


def leaders(diagnosis: DiagnosisShown, count: int = 3) -> list[str]:
    """Return the names of the likeliest causes."""
    return [cause.name for cause in (*diagnosis.leading, *diagnosis.others)][:count]


def finding(answer: Answer, code: str) -> Finding:
    """Return a finding by its code."""
    return next(found for found in answer.findings if found.code == code)


def said(answer: Answer, code: str) -> str:
    """Return the sentence of a finding."""
    return finding(answer, code).sentence


def words(answer: Answer) -> str:
    """Return everything that an answer says."""
    return " ".join(found.sentence for found in answer.findings)


def output(answer: Answer, name: str) -> Output:
    """Return a derived value, which must be there."""
    found = answer.output(name)
    assert found is not None
    return found
