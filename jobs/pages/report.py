"""The record of a job as the page offers it: to be made, being made, ready, or failed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.urls import reverse

from jobs.choices import ReportStatus
from jobs.models import Job, Report
from jobs.policies import may_request_report
from shopcool.core.actors import Actor


@dataclass(frozen=True)
class ReportShown:
    """What the panel of the record shows; ``is_old`` says that the job went on after it was made."""

    url: str
    may_request: bool
    status: str = ""
    progress: int = 0
    message: str = ""
    file_url: str = ""
    made_at: datetime | None = None
    is_old: bool = False

    @property
    def is_being_made(self) -> bool:
        """Whether the page should look again soon."""
        return self.status in {ReportStatus.QUEUED, ReportStatus.RUNNING}

    @property
    def is_ready(self) -> bool:
        """Whether there is a file to open."""
        return self.status == ReportStatus.READY

    @property
    def is_failed(self) -> bool:
        """Whether the last try failed."""
        return self.status == ReportStatus.FAILED


def report_shown(*, actor: Actor, job: Job) -> ReportShown:
    """Return the newest record of a job."""
    url, may_request = reverse("jobs:report", args=[job.number]), may_request_report(actor)
    report = Report.objects.filter(job=job).order_by("-pk").first()
    if report is None:
        return ReportShown(url, may_request)
    ready = report.status == ReportStatus.READY
    return ReportShown(
        url=url,
        may_request=may_request,
        status=report.status,
        progress=report.progress,
        message=report.message,
        file_url=reverse("jobs:report_file", args=[job.number, report.pk]) if ready else "",
        made_at=report.finished_at,
        is_old=_went_on(report),
    )


def _went_on(report: Report) -> bool:
    made_at = report.finished_at
    return made_at is not None and report.job.records.filter(recorded_at__gt=made_at).exists()
