"""Step records as the pages show them: what was measured, what it meant, who recorded it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.urls import reverse

from jobs.choices import StepKind
from jobs.models import StepRecord
from jobs.pages.answers import AnswerShown, answer_shown
from jobs.procedure import DERIVED
from jobs.steps.answers import Answer, Tone
from jobs.steps.display import display, retold
from jobs.steps.registry import step_of
from jobs.steps.values import Values
from shopcool.attachments.gallery import Gallery
from shopcool.shop.units import Units


@dataclass(frozen=True)
class RecordShown:
    """One record of a step. ``stands`` is False for one that a later record corrects."""

    id: int
    label: str
    at: datetime
    who: str
    note: str
    values: tuple[tuple[str, str], ...]
    summary: str
    answer: AnswerShown
    stands: bool
    correction_reason: str
    correct_url: str
    gallery: Gallery | None = None


def record_shown(
    record: StepRecord, *, stands: bool, may_correct: bool, number: str, units: Units
) -> RecordShown:
    """Return a record in words and units of the reader; ``may_correct`` is whether they may correct it."""
    kind = StepKind(record.kind)
    answer = retold(Answer.from_record(record.answer), units)
    correctable = stands and may_correct and kind in MEASURED
    return RecordShown(
        id=record.pk,
        label=str(kind.label),
        at=record.occurred_at,
        who=record.recorded_by_name,
        note=record.note,
        values=values_shown(record, units),
        summary=_summary(kind, answer),
        answer=answer_shown(answer),
        stands=stands,
        correction_reason=record.correction_reason,
        correct_url=reverse("jobs:correct", args=[number, record.pk]) if correctable else "",
    )


def _summary(kind: StepKind, answer: Answer) -> str:
    """Return a record in a line: its heaviest finding, or its values when there are only notes."""
    telling = [finding for finding in answer.findings if finding.tone is not Tone.NOTE or kind in DERIVED]
    if telling:
        return answer_shown(answer).sentence if kind not in DERIVED else telling[0].sentence
    values = [f"{output.label} {output.text}" for output in answer.outputs]
    return ", ".join(values) or answer_shown(answer).sentence


def values_shown(record: StepRecord, units: Units) -> tuple[tuple[str, str], ...]:
    """Return label and text of every value that was recorded, in the order of the fields."""
    values = Values(record.values)
    shown = ((str(spec.label), display(spec, values, units)) for spec in step_of(record.kind).fields)
    return tuple((label, text) for label, text in shown if text)


#: Steps that people fill in; the others are written by connections and purges and have nothing to correct.
MEASURED = frozenset(StepKind) - DERIVED - {StepKind.CLOSE_OUT}
