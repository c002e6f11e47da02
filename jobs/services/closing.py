"""Close a job: only when every required step, the closing purge included, is done."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from equipment.selectors import person_facts
from jobs.choices import JobStatus, StepKind
from jobs.errors import JobNotOpen, StepBlocked
from jobs.models import Job
from jobs.policies import may_close
from jobs.services.appending import sending, sent_before, step_append
from jobs.services.locking import lock_job
from jobs.situation import Situation, situation_of
from jobs.steps.reading import read_values
from jobs.steps.registry import step_of
from shopcool.core.actors import Actor
from shopcool.core.errors import NotAllowed, require

KIND = StepKind.CLOSE_OUT


@transaction.atomic
def job_close(*, actor: Actor, job: Job, raw: Mapping[str, Any], idempotency_key: UUID, now: datetime) -> Job:
    """Close the job with its next service date; the same form sent twice closes it once.

    Raises NotAllowed, StepBlocked with every missing step and every piece without its closing purge,
    JobNotOpen, KeyReused and ValuesInvalid.
    """
    require(may_close(actor))
    job = lock_job(job)
    step = step_of(KIND)
    sent = sending(idempotency_key, step.fields, raw)
    if sent_before(sent, job, KIND) is not None:
        return job
    if job.status in {JobStatus.CLOSED, JobStatus.CANCELLED}:
        raise JobNotOpen(_("%(job)s is finished already.") % {"job": job.number})
    situation = situation_of(job, now=now, units=actor.units)
    if situation.state(KIND).reasons:
        raise StepBlocked(situation.state(KIND).reasons)
    _require_competence(actor, situation)
    values = read_values(step.fields, raw, situation.context)
    answer = step.judged(values, situation.context)
    step_append(job, KIND, values, answer, actor=actor, now=now, sent=sent)
    job.status = JobStatus.CLOSED
    job.closed_at = now
    job.next_service_on = values.day("next_service_on")
    job.save(update_fields=["status", "closed_at", "next_service_on"])
    return job


def _require_competence(actor: Actor, situation: Situation) -> None:
    """Whoever closes a job on which a circuit was connected answers for the handling of its refrigerant."""
    if not situation.case.progress.was_connected:
        return
    if not person_facts(actor, situation.context.today).refrigerant_competence:
        raise NotAllowed(_("%(name)s has no refrigerant-handling competence in date.") % {"name": actor.name})
