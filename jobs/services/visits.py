"""A vehicle comes in, or does not come at all."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from jobs.choices import JobStatus, StepKind
from jobs.errors import JobNotOpen, ReasonMissing
from jobs.models import Job
from jobs.policies import may_cancel, may_check_in
from jobs.procedure import Outcome
from jobs.services.appending import step_append
from jobs.services.locking import lock_job
from jobs.situation import situation_of
from jobs.steps.answers import Answer, warning
from jobs.steps.values import Values
from shopcool.core.actors import Actor
from shopcool.core.errors import require


@transaction.atomic
def job_check_in(
    *, actor: Actor, job: Job, now: datetime, bay: str = "", technician_id: int | None = None
) -> Job:
    """Take the vehicle into the workshop; from now on steps may be recorded.

    Raises NotAllowed, and JobNotOpen when it is in already, closed or cancelled.
    """
    require(may_check_in(actor))
    job = lock_job(job)
    if job.status != JobStatus.BOOKED:
        raise JobNotOpen(
            _("%(job)s is not waiting: %(status)s.") % {"job": job.number, "status": job.get_status_display()}
        )
    job.status = JobStatus.CHECKED_IN
    job.checked_in_at = now
    job.bay = bay.strip() or job.bay
    job.technician_id = technician_id or job.technician_id
    job.save(update_fields=["status", "checked_in_at", "bay", "technician"])
    return job


@transaction.atomic
def job_cancel(*, actor: Actor, job: Job, reason: str, now: datetime) -> Job:
    """Cancel a job that can't be carried through; who did and why stays on its record.

    Raises NotAllowed, ReasonMissing, and JobNotOpen when it is finished, or when a piece is still on the
    vehicle or waits for its closing purge.
    """
    require(may_cancel(actor))
    if not reason.strip():
        raise ReasonMissing(_("Say why the job is cancelled."), field="reason")
    job = lock_job(job)
    if job.status not in {JobStatus.BOOKED, JobStatus.CHECKED_IN}:
        raise JobNotOpen(_("%(job)s is finished already.") % {"job": job.number})
    _refuse_loose_ends(job, now)
    sentence = _("Cancelled: %(reason)s") % {"reason": reason.strip()}
    answer = Answer(Outcome.NOT_DONE, satisfied=False, findings=(warning("cancelled", sentence),))
    step_append(job, StepKind.CLOSE_OUT, Values(), answer, actor=actor, now=now, note=reason)
    job.status = JobStatus.CANCELLED
    job.save(update_fields=["status"])
    return job


def _refuse_loose_ends(job: Job, now: datetime) -> None:
    situation = situation_of(job, now=now)
    if situation.case.progress.connected:
        raise JobNotOpen(_("Pieces are still on the vehicle: disconnect them first."))
    if situation.purges_due:
        codes = ", ".join(piece.code for piece in situation.purges_due)
        raise JobNotOpen(_("These pieces need a line purge first: %(pieces)s.") % {"pieces": codes})
