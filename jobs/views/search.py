"""Search from anywhere."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from jobs.policies import may_see_jobs
from jobs.search import search
from shopcool.core.errors import require
from shopcool.people.requests import actor_of


@require_safe
def search_page(request: HttpRequest) -> HttpResponse:
    """Show vehicles, pieces and jobs that the query names."""
    actor = actor_of(request)
    require(may_see_jobs(actor))
    found = search(actor=actor, query=request.GET.get("q", ""))
    return render(request, "jobs/search.html", {"found": found})
