"""Record, correct and try a step."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from equipment.selectors import person_facts
from jobs.choices import JobStatus, StepKind
from jobs.errors import (
    JobNotOpen,
    ReasonMissing,
    StepBlocked,
    StepNotNeeded,
    StepNotRepeatable,
    StepTaken,
    ValuesInvalid,
)
from jobs.models import Job, StepRecord
from jobs.policies import may_correct_closed_job, may_correct_step, may_record_step
from jobs.procedure import DERIVED, Need
from jobs.procedure.blockers import blockers
from jobs.services.appending import sending, sent_before, step_append
from jobs.services.following_up import Recorded, follow_up
from jobs.services.locking import lock_job
from jobs.situation import Situation, situation_of
from jobs.steps.answers import Answer
from jobs.steps.reading import read_values
from jobs.steps.registry import step_of
from jobs.steps.values import Values
from shopcool.core.actors import Actor
from shopcool.core.errors import NotAllowed, require

HIGH_VOLTAGE_WORK = frozenset({StepKind.HIGH_VOLTAGE, StepKind.INSULATION, StepKind.PARTS})
REFRIGERANT_WORK = frozenset(
    {StepKind.RECOVERY, StepKind.PARTS, StepKind.EVACUATION, StepKind.OIL, StepKind.CHARGE}
)
_WITHOUT_FORM = DERIVED | {StepKind.CLOSE_OUT}


@transaction.atomic
def step_record(
    *,
    actor: Actor,
    job: Job,
    kind: StepKind,
    raw: Mapping[str, Any],
    seen: int,
    idempotency_key: UUID,
    now: datetime,
    note: str = "",
    occurred_at: datetime | None = None,
) -> StepRecord:
    """Record a step: what was typed, what it means in SI, and what the rules say about it.

    ``seen`` is how many records of this step the form knew about. The same form sent twice gives the first
    record. Raises NotAllowed, StepBlocked, StepNotNeeded, StepNotRepeatable, StepTaken when somebody was
    faster, KeyReused and ValuesInvalid.
    """
    require(may_record_step(actor))
    job = lock_job(job)
    sent = sending(idempotency_key, step_of(kind).fields, raw, note=note, occurred_at=occurred_at)
    before = sent_before(sent, job, kind)
    if before is not None:
        return before
    situation = situation_of(job, now=now, units=actor.units)
    _refuse_late_comer(situation, kind, seen)
    _check_time(job, occurred_at, now)
    values, answer = _judged(actor, situation, kind, raw)
    record = step_append(
        job, kind, values, answer, actor=actor, now=now, occurred_at=occurred_at, note=note, sent=sent
    )
    follow_up(Recorded(situation, record, None, actor, now))
    return record


@transaction.atomic
def step_correct(
    *,
    actor: Actor,
    record: StepRecord,
    raw: Mapping[str, Any],
    reason: str,
    idempotency_key: UUID,
    now: datetime,
    note: str = "",
) -> StepRecord:
    """Correct a record by a new one that points at it; the old one stays as it was.

    Raises NotAllowed, ReasonMissing, JobNotOpen, StepNotRepeatable when it was corrected already or makes
    itself, KeyReused and ValuesInvalid.
    """
    require(may_correct_step(actor))
    if not reason.strip():
        raise ReasonMissing(_("Say why the record is corrected."), field="reason")
    job, kind = lock_job(record.job), StepKind(record.kind)
    step = step_of(kind)
    sent = sending(idempotency_key, step.fields, raw, note=note, reason=reason, corrects=record.pk)
    before = sent_before(sent, job, kind)
    if before is not None:
        return before
    _check_correctable(actor, job, record)
    situation = situation_of(job, now=now, without=record, units=actor.units)
    values = read_values(step.fields, raw, situation.context)
    correction = step_append(
        job,
        kind,
        values,
        step.judged(values, situation.context),
        actor=actor,
        now=now,
        occurred_at=record.occurred_at,
        note=note,
        sent=sent,
        corrects=record,
        correction_reason=reason,
    )
    follow_up(Recorded(situation, correction, record, actor, now))
    return correction


def step_try(*, actor: Actor, job: Job, kind: StepKind, raw: Mapping[str, Any], now: datetime) -> Answer:
    """Return what the rules would say, recording nothing; raises what :func:`step_record` would raise."""
    require(may_record_step(actor))
    job = Job.objects.select_related("circuit__vehicle").get(pk=job.pk)
    return _judged(actor, situation_of(job, now=now, units=actor.units), kind, raw)[1]


def _judged(
    actor: Actor, situation: Situation, kind: StepKind, raw: Mapping[str, Any]
) -> tuple[Values, Answer]:
    refuse_if_not_due(situation, kind)
    require_competence(actor, situation, kind)
    step = step_of(kind)
    values = read_values(step.fields, raw, situation.context)
    return values, step.judged(values, situation.context)


def refuse_if_not_due(situation: Situation, kind: StepKind) -> None:
    """Raise StepNotNeeded, StepBlocked or StepNotRepeatable unless the step may be recorded now."""
    if kind in _WITHOUT_FORM:
        raise StepNotNeeded(_("This step has its own action; it is not recorded with a form."))
    planned = situation.case.plan[kind]
    if planned.need is Need.NOT_NEEDED:
        raise StepNotNeeded(planned.why)
    reasons = blockers(kind, situation.case)
    if reasons:
        raise StepBlocked(reasons)
    state = situation.state(kind)
    if state.may_record:
        return
    if state.is_done:
        raise StepNotRepeatable
    raise StepNotNeeded(state.why)


def require_competence(actor: Actor, situation: Situation, kind: StepKind) -> None:
    """Raise NotAllowed unless the person's competences for this work are in date."""
    high_voltage = kind in HIGH_VOLTAGE_WORK and situation.case.facts.is_high_voltage
    if not high_voltage and kind not in REFRIGERANT_WORK:
        return
    person = person_facts(actor, situation.context.today)
    if high_voltage and not person.high_voltage_competence:
        raise NotAllowed(_("%(name)s has no high-voltage competence in date.") % {"name": actor.name})
    if kind in REFRIGERANT_WORK and not person.refrigerant_competence:
        raise NotAllowed(_("%(name)s has no refrigerant-handling competence in date.") % {"name": actor.name})


def _refuse_late_comer(situation: Situation, kind: StepKind, seen: int) -> None:
    if situation.seen(kind) <= seen:
        return
    last = [record for record in situation.records if record.kind == kind][-1]
    moment = timezone.localtime(last.recorded_at)
    raise StepTaken(
        _("%(name)s recorded this step at %(time)s. Look at it before you record it again.")
        % {"name": last.recorded_by_name, "time": f"{moment:%H:%M}"}
    )


def _check_time(job: Job, occurred_at: datetime | None, now: datetime) -> None:
    if occurred_at is None:
        return
    if occurred_at > now:
        raise ValuesInvalid({"occurred_at": [_("This lies in the future.")]})
    if job.checked_in_at is not None and occurred_at < job.checked_in_at:
        raise ValuesInvalid({"occurred_at": [_("This lies before the vehicle was checked in.")]})


def _check_correctable(actor: Actor, job: Job, record: StepRecord) -> None:
    if record.kind in _WITHOUT_FORM or StepRecord.objects.filter(corrects=record).exists():
        raise StepNotRepeatable
    if job.status == JobStatus.CLOSED:
        require(may_correct_closed_job(actor), _("Only the owner corrects the record of a closed job."))
    elif job.status != JobStatus.CHECKED_IN:
        raise JobNotOpen(_("The job was cancelled."))
