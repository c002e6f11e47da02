"""Make the record of a job: claimed by one worker, its progress seen at once, safe to run twice."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.core.files.base import ContentFile
from django.db import OperationalError
from django.db.models import F
from django.utils.translation import gettext as _

from jobs.choices import ReportStatus
from jobs.models import Report
from jobs.reports import gather, job_document
from shopcool.core.documents import typeset

#: A record that was begun this often and never finished is not tried again by itself.
MOST_ATTEMPTS = 3
#: What may pass by itself: a database that restarts, a disk that is full for a moment.
PASSING = (OperationalError, OSError)


@dataclass(frozen=True)
class _Claim:
    """The right to work on a report, lost as soon as somebody else begins."""

    report_id: int
    attempt: int

    def write(self, **values: object) -> bool:
        """Write values if the claim still holds; each write stands by itself, so that the page sees it."""
        mine = Report.objects.filter(pk=self.report_id, status=ReportStatus.RUNNING, attempts=self.attempt)
        return mine.update(**values) == 1


def report_make(*, report_id: int, now: datetime) -> None:
    """Make a report that waits; does nothing when somebody else makes it or it is finished.

    Must run outside a transaction. Errors that may pass put the report back and are raised for the caller
    to try later; any other error ends it as failed, with a sentence, and is raised as well.
    """
    claim = _claim(report_id, now)
    if claim is None:
        return
    try:
        _make(claim, now)
    except PASSING:
        claim.write(status=ReportStatus.QUEUED, progress=0, message=_("Interrupted; it is tried again."))
        raise
    except Exception:
        claim.write(status=ReportStatus.FAILED, finished_at=now, message=_failure())
        raise


def report_give_up(report_id: int, *, now: datetime) -> bool:
    """End a waiting report as failed if it was begun too often; return whether it was."""
    exhausted = Report.objects.filter(pk=report_id, status=ReportStatus.QUEUED, attempts__gte=MOST_ATTEMPTS)
    return exhausted.update(status=ReportStatus.FAILED, finished_at=now, message=_failure()) == 1


def _claim(report_id: int, now: datetime) -> _Claim | None:
    waiting = Report.objects.filter(pk=report_id, status=ReportStatus.QUEUED, attempts__lt=MOST_ATTEMPTS)
    claimed = waiting.update(
        status=ReportStatus.RUNNING,
        attempts=F("attempts") + 1,
        touched_at=now,
        progress=10,
        message=_("Reading the records of the job"),
    )
    if not claimed:
        report_give_up(report_id, now=now)
        return None
    return _Claim(report_id, Report.objects.values_list("attempts", flat=True).get(pk=report_id))


def _make(claim: _Claim, now: datetime) -> None:
    report = Report.objects.select_related("job", "requested_by").get(pk=claim.report_id)
    gathered = gather(job_id=report.job_id, now=now, units=report.requested_by.preferred_units)
    claim.write(progress=40, message=_("Setting the pages"))
    pdf = typeset(job_document(gathered, requested_by=str(report.requested_by)), made_at=now)
    claim.write(progress=90, message=_("Keeping the file"))
    _keep(claim, report, pdf, now)


def _keep(claim: _Claim, report: Report, pdf: bytes, now: datetime) -> None:
    """Store the file and name it; a claim that was lost meanwhile leaves no file behind."""
    report.file.save(f"{report.job.number}.pdf", ContentFile(pdf), save=False)
    kept = claim.write(
        status=ReportStatus.READY, progress=100, message="", file=report.file.name, finished_at=now
    )
    if not kept:
        report.file.delete(save=False)


def _failure() -> str:
    return _("The record could not be made. Try again; if it fails again, tell whoever looks after Shopcool.")
