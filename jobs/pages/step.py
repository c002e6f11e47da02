"""The page of one step, and the page that corrects a record of it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import datetime

from django.urls import reverse
from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.forms.steps import CorrectionForm, StepForm
from jobs.models import StepRecord
from jobs.pages.answers import AnswerShown
from jobs.pages.clearance import ClearancePanel
from jobs.pages.injectors import InjectorPanel, injector_panel
from jobs.pages.job import Surroundings, panel_for, purge_way, records_shown, surroundings
from jobs.pages.pieces import DuePiece, due_pieces
from jobs.pages.records import RecordShown, record_shown
from jobs.pages.steps import StepShown, step_shown
from jobs.pages.ways import Way, job_url
from jobs.policies import may_record_step
from jobs.situation import Situation
from shopcool.core.actors import Actor


@dataclass(frozen=True)
class StepPage:
    """One step with what stands around it and what was recorded of it before."""

    around: Surroundings
    step: StepShown
    panel: ClearancePanel | None
    due: list[DuePiece]
    purge: Way | None
    injectors: InjectorPanel | None
    records: list[RecordShown]
    may_record: bool


@dataclass(frozen=True)
class CorrectionPage:
    """The form that corrects a record, beside the record itself."""

    around: Surroundings
    step: StepShown
    record: RecordShown


def step_page(
    *,
    actor: Actor,
    situation: Situation,
    kind: StepKind,
    now: datetime,
    form: StepForm | None = None,
    answer: AnswerShown | None = None,
    chosen: Collection[int] | None = None,
) -> StepPage:
    """Return everything the page of a step shows; ``chosen`` are the ticked pieces of its clearance panel."""
    step = step_shown(situation, kind, form=form if may_record_step(actor) else None, answer=answer)
    return StepPage(
        around=surroundings(actor=actor, situation=situation),
        step=replace(step, back=job_url(situation.job.number)),
        panel=panel_for(step, actor, situation, now, chosen),
        due=due_pieces(situation),
        purge=purge_way(situation),
        injectors=injector_panel(step, actor, situation),
        records=records_shown(situation, actor, kind),
        may_record=may_record_step(actor),
    )


def correction_page(
    *,
    actor: Actor,
    situation: Situation,
    record: StepRecord,
    form: CorrectionForm,
    answer: AnswerShown | None,
) -> CorrectionPage:
    """Return everything the page of a correction shows."""
    number = situation.job.number
    step = step_shown(situation, StepKind(record.kind), form=form, answer=answer)
    corrected = replace(
        step,
        url=reverse("jobs:correct", args=[number, record.pk]),
        draft=f"{number}-correct-{record.pk}",
        action=_("Record the correction"),
        back=job_url(number),
        obstacles=(),
        clock=None,
    )
    return CorrectionPage(
        around=surroundings(actor=actor, situation=situation),
        step=corrected,
        record=record_shown(
            record, stands=True, may_correct=False, number=number, units=situation.context.units
        ),
    )
