"""The page of one job."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from jobs.attachments import job_parent
from jobs.pages.job import job_shown
from jobs.pages.report import report_shown
from jobs.policies import may_see_jobs
from jobs.situation import situation_of
from jobs.views.loading import hold_in_hand, job_for
from jobs.views.units import units_of
from shopcool.attachments.gallery import gallery
from shopcool.core import clock
from shopcool.shop.selectors import shop_of


@require_safe
def job(request: HttpRequest, number: str) -> HttpResponse:
    """Show one car: what is next, what blocks it, what has been done."""
    actor, found = job_for(request, number, may_see_jobs)
    now = clock.now()
    if found.is_open:
        hold_in_hand(request, number)
    situation = situation_of(found, now=now, units=actor.units, shop=shop_of(request))
    page = job_shown(actor=actor, situation=situation, units=units_of(request), now=now)
    context = {
        "page": page,
        "job": found,
        "report": report_shown(actor=actor, job=found),
        "gallery": gallery(actor, job_parent(found)),
    }
    return render(request, "jobs/job.html", context)
