"""The records for the owner: what an inspector would ask, period by period."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from equipment.selectors import today_at
from jobs.closed import Period, closed_jobs, totals
from jobs.forms.records import PeriodForm
from jobs.policies import may_see_records
from shopcool.core import clock
from shopcool.core.errors import require
from shopcool.people.requests import actor_of
from shopcool.shop.selectors import shop_get

PAGE = 25
USUAL_PERIOD = timedelta(days=90)


@require_safe
def records(request: HttpRequest) -> HttpResponse:
    """Show overrides, incidents and the closed jobs of a period."""
    actor = actor_of(request)
    require(may_see_records(actor))
    form = PeriodForm(request.GET or None)
    period = _period(form)
    query = form.cleaned_data["q"] if form.is_valid() else ""
    page = Paginator(closed_jobs(actor=actor, period=period, query=query), PAGE).get_page(
        request.GET.get("page")
    )
    shown = {"form": form, "period": period, "page": page, "totals": totals(actor=actor, period=period)}
    return render(request, "jobs/records.html", shown, status=200 if not form.errors else 422)


def _period(form: PeriodForm) -> Period:
    """Return the period asked for, the last ninety days where nothing usable was asked."""
    shop = shop_get()
    today = today_at(shop, clock.now())
    asked = form.cleaned_data if form.is_valid() else {}
    last = asked.get("last") or max(today, asked.get("first") or today)
    first = asked.get("first") or last - USUAL_PERIOD
    return Period(first, last, ZoneInfo(shop.time_zone))
