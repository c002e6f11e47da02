"""The record of a job as PDF: ask for it, see how far it is, take it."""

from __future__ import annotations

from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.text import get_valid_filename
from django.views.decorators.http import require_http_methods, require_safe

from jobs.choices import ReportStatus
from jobs.models import Report
from jobs.pages.report import report_shown
from jobs.policies import may_request_report, may_see_jobs
from jobs.services.report_requests import report_request
from jobs.views.loading import job_for
from shopcool.core import clock


@require_http_methods(["GET", "HEAD", "POST"])
def report(request: HttpRequest, number: str) -> HttpResponse:
    """Ask for the record, or show how far it is; without script both lead back to the page of the job."""
    policy = may_request_report if request.method == "POST" else may_see_jobs
    actor, job = job_for(request, number, policy)
    if request.method == "POST":
        report_request(actor=actor, job=job, now=clock.now())
    if not request.htmx:  # type: ignore[attr-defined]
        return redirect(f"{reverse('jobs:job', args=[number])}#record")
    return render(request, "jobs/_report.html", {"report": report_shown(actor=actor, job=job)})


@require_safe
def report_file(request: HttpRequest, number: str, report_id: int) -> FileResponse:
    """Hand the file out to whoever may see the job."""
    _actor, job = job_for(request, number, may_see_jobs)
    ready = get_object_or_404(Report, pk=report_id, job=job, status=ReportStatus.READY)
    name = get_valid_filename(f"job-{job.number}-record.pdf")
    return FileResponse(ready.file.open("rb"), as_attachment=True, filename=name)
