"""Search from anywhere."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from jobs.policies import may_see_jobs
from jobs.search import piece_scanned, search
from shopcool.core.errors import require
from shopcool.people.requests import actor_of


@require_safe
def search_page(request: HttpRequest) -> HttpResponse:
    """Show vehicles, pieces and jobs that the query names; the code of a label leads on at once."""
    actor = actor_of(request)
    require(may_see_jobs(actor))
    scanned = piece_scanned(actor=actor, query=request.GET.get("q", ""))
    if scanned is not None:
        return redirect("jobs:scan", public_id=scanned.public_id)
    found = search(actor=actor, query=request.GET.get("q", ""))
    return render(request, "jobs/search.html", {"found": found})
