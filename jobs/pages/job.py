"""The page of a job: one car, one page – what is next, what blocks it, what has been done."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.urls import reverse
from django.utils import timezone
from django.utils.formats import time_format
from django.utils.translation import gettext as _

from equipment.choices import IncidentStatus, Verdict
from equipment.incidents import Incident
from equipment.models import Clearance
from equipment.policies import may_connect, may_see_incidents
from equipment.readiness import Severity
from equipment.selectors import clearances_on_job
from jobs.attachments import step_parent
from jobs.choices import JobStatus, StepKind
from jobs.models import Job
from jobs.pages.clearance import ClearancePanel, clearance_panel
from jobs.pages.head import Head, head_of
from jobs.pages.injectors import InjectorPanel, injector_panel
from jobs.pages.meaning import READINGS, Meaning, meaning_on_record
from jobs.pages.pieces import DuePiece, OnCar, due_pieces, on_car
from jobs.pages.rail import Station, rail_of
from jobs.pages.records import RecordShown, record_shown
from jobs.pages.steps import LastUnits, StepShown, form_of, step_shown
from jobs.pages.ways import Way, purge_url, step_url
from jobs.policies import (
    may_cancel,
    may_check_in,
    may_correct_closed_job,
    may_correct_step,
    may_record_step,
)
from jobs.procedure import next_step
from jobs.situation import Situation
from shopcool.attachments.gallery import galleries
from shopcool.core.actors import Actor


@dataclass(frozen=True)
class OverrideShown:
    """A connection on an owner's responsibility, as it stands on every page of the job."""

    at: datetime
    who: str
    reason: str
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class IncidentShown:
    """An incident about this job: what happened, and what was done about it."""

    tone: str
    sentence: str
    text: str
    url: str


@dataclass(frozen=True)
class RefusalShown:
    """A refusal that the clearance recorded on this job."""

    at: datetime
    who: str
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class Surroundings:
    """What stands around every step of a job: the car, what hangs on it, what everybody must know."""

    head: Head
    on_car: list[OnCar]
    overrides: list[OverrideShown]
    incidents: list[IncidentShown]
    add_url: str
    disconnect_url: str


@dataclass(frozen=True)
class JobShown:
    """The page of a job. ``next`` is None when nothing is open any more."""

    around: Surroundings
    next: StepShown | None
    panel: ClearancePanel | None
    due: list[DuePiece]
    purge: Way | None
    injectors: InjectorPanel | None
    rail: list[Station]
    records: list[RecordShown]
    refusals: list[RefusalShown]
    meaning: Meaning | None
    check_in_url: str
    cancel_url: str
    is_booked: bool
    is_cancelled: bool
    is_closed: bool
    may_record: bool


def job_shown(*, actor: Actor, situation: Situation, units: LastUnits, now: datetime) -> JobShown:
    """Return everything the page of a job shows."""
    job = situation.job
    clearances = _told_clearances(job)
    state = next_step(situation.states) if job.status == JobStatus.CHECKED_IN else None
    following = None
    if state is not None:
        form = form_of(situation, state.kind, units) if may_record_step(actor) else None
        following = step_shown(situation, state.kind, form=form)
    booked = job.status == JobStatus.BOOKED
    return JobShown(
        around=surroundings(actor=actor, situation=situation, clearances=clearances),
        next=following,
        panel=panel_for(following, actor, situation, now),
        due=due_pieces(situation),
        purge=purge_way(situation),
        injectors=injector_panel(following, actor, situation),
        rail=rail_of(job, situation.states, state.kind if state else None, _done_notes(situation)),
        records=records_shown(situation, actor),
        refusals=[_refusal(row) for row in reversed(clearances) if row.verdict == Verdict.REFUSED],
        meaning=_meaning(situation, state.kind if state else None),
        check_in_url=reverse("jobs:check_in", args=[job.number]) if booked and may_check_in(actor) else "",
        cancel_url=reverse("jobs:cancel", args=[job.number]) if _is_unfinished(job, actor) else "",
        is_booked=booked,
        is_cancelled=job.status == JobStatus.CANCELLED,
        is_closed=job.status == JobStatus.CLOSED,
        may_record=may_record_step(actor),
    )


def surroundings(
    *, actor: Actor, situation: Situation, clearances: list[Clearance] | None = None
) -> Surroundings:
    """Return what stands around every step of a job."""
    job = situation.job
    rows = _told_clearances(job) if clearances is None else clearances
    hanging = on_car(situation.connections)
    connects = job.is_open and may_connect(actor)
    return Surroundings(
        head=head_of(job, situation.context.units),
        on_car=hanging,
        overrides=[_override(row) for row in rows if row.verdict == Verdict.OVERRIDDEN],
        incidents=_incidents(job, actor),
        add_url=reverse("jobs:clearance", args=[job.number]) if connects else "",
        disconnect_url=step_url(job.number, StepKind.DISCONNECTION) if connects and hanging else "",
    )


def panel_for(
    step: StepShown | None,
    actor: Actor,
    situation: Situation,
    now: datetime,
    chosen: Collection[int] | None = None,
) -> ClearancePanel | None:
    """Return the clearance panel when the step is connecting and nothing blocks it."""
    if step is None or step.kind is not StepKind.CONNECTION or step.obstacles or not may_connect(actor):
        return None
    return clearance_panel(actor=actor, situation=situation, chosen=chosen, now=now)


def records_shown(situation: Situation, actor: Actor, kind: StepKind | None = None) -> list[RecordShown]:
    """Return the records of a job, or of one of its steps, newest first."""
    standing = {record.pk for record in situation.standing}
    may_correct = may_correct_closed_job(actor) if situation.job.closed_at else may_correct_step(actor)
    open_to_correction = may_correct and situation.job.status != JobStatus.CANCELLED
    wanted = [record for record in reversed(situation.records) if kind is None or record.kind == kind]
    parents = [step_parent(record, situation.job) for record in wanted]
    attached = galleries(actor, parents)
    return [
        replace(
            record_shown(
                record,
                stands=record.pk in standing,
                may_correct=open_to_correction,
                number=situation.job.number,
                units=situation.context.units,
            ),
            gallery=attached[parent.key],
        )
        for record, parent in zip(wanted, parents, strict=True)
    ]


def _told_clearances(job: Job) -> list[Clearance]:
    """Return the decisions that pages speak of: refusals, and overrides of them."""
    return list(clearances_on_job(job.number).exclude(verdict=Verdict.PERMITTED))


def purge_way(situation: Situation) -> Way | None:
    """Return the one tap that starts the purge of exactly what is due, None when nothing is."""
    due = due_pieces(situation)
    if not due:
        return None
    machines = [piece for piece in due if piece.is_machine]
    machine_id = machines[0].id if len(machines) == 1 else None
    others = [piece.id for piece in due if piece.id != machine_id]
    label = _("Purge %(pieces)s") % {"pieces": ", ".join(piece.code for piece in due)}
    return Way(label, purge_url(situation.job.number, others, machine_id))


def _meaning(situation: Situation, following: StepKind | None) -> Meaning | None:
    """Return what the readings mean; a step of readings that comes next shows it beside its form."""
    return None if following in READINGS else meaning_on_record(situation)


def _is_unfinished(job: Job, actor: Actor) -> bool:
    return job.status in {JobStatus.BOOKED, JobStatus.CHECKED_IN} and may_cancel(actor)


def _override(clearance: Clearance) -> OverrideShown:
    return OverrideShown(
        at=clearance.occurred_at,
        who=clearance.recorded_by_name,
        reason=clearance.override_reason,
        sentences=_refused(clearance.reasons),
    )


def _refusal(clearance: Clearance) -> RefusalShown:
    return RefusalShown(clearance.occurred_at, clearance.recorded_by_name, _refused(clearance.reasons))


def _refused(reasons: Sequence[Mapping[str, Any]]) -> tuple[str, ...]:
    return tuple(reason["sentence"] for reason in reasons if reason["severity"] == Severity.REFUSAL)


def _incidents(job: Job, actor: Actor) -> list[IncidentShown]:
    """Return the incidents about this job, for everybody who sees it; the link only for who may open one."""
    rows = Incident.objects.filter(job_number=job.number).order_by("raised_at", "pk")
    return [
        IncidentShown(
            tone="refusal" if row.status == IncidentStatus.OPEN else "unknown",
            sentence=row.get_kind_display(),
            text=row.resolution or " ".join(_refused(row.reasons)),
            url=reverse("equipment:incident", args=[row.pk]) if may_see_incidents(actor) else "",
        )
        for row in rows
    ]


def _done_notes(situation: Situation) -> dict[StepKind, str]:
    """Return when and by whom each step was last recorded."""
    notes = {}
    for record in situation.standing:
        clock = time_format(timezone.localtime(record.occurred_at), "H:i")
        notes[StepKind(record.kind)] = f"{clock}, {record.recorded_by_name}"
    return notes
