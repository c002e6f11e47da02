"""The list of the day."""

from __future__ import annotations

from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from jobs.pages.today import day_shown
from jobs.policies import may_see_jobs
from shopcool.core import clock
from shopcool.core.errors import require
from shopcool.people.requests import actor_of
from shopcool.shop.selectors import shop_get


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    """Show what is on for whom, today or on another day."""
    actor = actor_of(request)
    require(may_see_jobs(actor))
    day = day_shown(actor=actor, shop=shop_get(), day=_day(request.GET.get("day", "")), now=clock.now())
    return render(request, "jobs/today.html", {"day": day})


def _day(typed: str) -> date | None:
    """Return the day of an address, None for anything that is no day of ours."""
    try:
        day = date.fromisoformat(typed)
    except ValueError:
        return None
    return day if 2000 <= day.year < 2100 else None
