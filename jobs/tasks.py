"""Work on jobs that outlives a request: each task calls one service."""

from __future__ import annotations

from jobs.services.report_making import MOST_ATTEMPTS, PASSING, report_make
from jobs.services.report_requests import reports_resume
from shopcool.celery import app
from shopcool.core import clock


# Unknown keywords are accepted, so that an older worker understands a newer page during an update.
@app.task(
    name="jobs.report_make",
    autoretry_for=PASSING,
    retry_backoff=2,
    max_retries=MOST_ATTEMPTS,
    time_limit=120,
)
def report_make_task(*, report_id: int, **_later: object) -> None:
    """Make one report; may run twice, only one run does the work."""
    report_make(report_id=report_id, now=clock.now())


@app.task(name="jobs.reports_resume")
def reports_resume_task(**_later: object) -> None:
    """Take up reports whose worker is gone."""
    reports_resume(now=clock.now())
