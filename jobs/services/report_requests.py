"""Ask for the record of a job as a PDF, and take up again what lost its worker."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from jobs.choices import ReportStatus
from jobs.models import Job, Report
from jobs.policies import may_request_report
from jobs.services.locking import lock_job
from jobs.services.report_making import report_give_up
from shopcool.core.actors import Actor
from shopcool.core.errors import NotAllowed, require

UNFINISHED = (ReportStatus.QUEUED, ReportStatus.RUNNING)
#: Longer than the time limit of the task: whoever worked on it is certainly gone.
STANDS_STILL_AFTER = timedelta(minutes=3)


@transaction.atomic
def report_request(*, actor: Actor, job: Job, now: datetime) -> Report:
    """Have the record of a job made; asked again while one is being made, it is the same one.

    The work is handed over once the transaction is certain, never before. Raises NotAllowed.
    """
    report, is_new = report_open(actor=actor, job=job, now=now)
    if is_new:
        _hand_over(report)
    elif _stands_still(report, now):
        _take_up_again(report, now)
        report.refresh_from_db()
    return report


@transaction.atomic
def report_open(*, actor: Actor, job: Job, now: datetime) -> tuple[Report, bool]:
    """Return the report that is being made for the job, else a new one, and whether it is new.

    Hands nothing over. Raises NotAllowed.
    """
    require(may_request_report(actor))
    if actor.user_id is None:
        raise NotAllowed(_("Only a person asks for a record."))
    job = lock_job(job)
    unfinished = Report.objects.filter(job=job, status__in=UNFINISHED).order_by("-pk").first()
    if unfinished is not None:
        return unfinished, False
    opened = Report.objects.create(job=job, requested_by_id=actor.user_id, requested_at=now, touched_at=now)
    return opened, True


def reports_resume(*, now: datetime) -> int:
    """Hand over again every report that stands still, and return how many there were.

    Its worker was killed, or the queue lost its message. One that was begun too often ends as failed.
    """
    unfinished = Report.objects.filter(status__in=UNFINISHED).order_by("pk")
    return sum(_take_up_again(report, now) for report in unfinished if _stands_still(report, now))


@transaction.atomic
def _take_up_again(report: Report, now: datetime) -> bool:
    """Put a report back into the queue, or end it; nothing happens when somebody else just did."""
    unchanged = Report.objects.filter(pk=report.pk, status=report.status, touched_at=report.touched_at)
    if not unchanged.update(status=ReportStatus.QUEUED, touched_at=now, progress=0, message=""):
        return False
    if report_give_up(report.pk, now=now):
        return False
    _hand_over(report)
    return True


def _hand_over(report: Report) -> None:
    # The task calls the services and the services call the task: one of the two has to come late.
    from jobs.tasks import report_make_task

    def hand_over_report() -> None:
        report_make_task.delay(report_id=report.pk)

    # A broker that is down must not cost the person the page: the request is on record and taken up later.
    # It has to be a function with a name, for Django to log the error of a robust one.
    transaction.on_commit(hand_over_report, robust=True)


def _stands_still(report: Report, now: datetime) -> bool:
    return report.touched_at is None or report.touched_at < now - STANDS_STILL_AFTER
