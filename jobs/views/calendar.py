"""The secret address of one's own calendar, and the feed that programs read from it."""

from __future__ import annotations

from hashlib import sha256
from math import ceil
from urllib.parse import urljoin

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.cache import get_conditional_response, patch_cache_control
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from rest_framework.throttling import SimpleRateThrottle

from jobs.policies import may_see_jobs
from jobs.services.calendar import calendar_feed
from shopcool.core import clock
from shopcool.core.actors import Actor
from shopcool.people.models import CalendarAddress
from shopcool.people.requests import actor_of, address_of
from shopcool.people.services.calendar import (
    calendar_address_end,
    calendar_address_make,
    calendar_address_read,
)
from shopcool.shop.selectors import shop_get


class FeedThrottle(SimpleRateThrottle):
    """How often one network address may ask: a household of calendar programs, not a search for secrets."""

    rate = "60/min"

    def get_cache_key(self, request: HttpRequest, view: object) -> str:
        """Return what is counted: the address the request came from."""
        return f"calendar-feed-{address_of(request)}"


@login_not_required
@require_safe
@sensitive_variables("secret")
def feed(request: HttpRequest, secret: str) -> HttpResponseBase:
    """Answer a calendar program; a wrong or ended address gives nothing away."""
    throttle = FeedThrottle()
    if not throttle.allow_request(request, None):  # type: ignore[arg-type]
        return HttpResponse(status=429, headers={"Retry-After": str(ceil(throttle.wait() or 60))})
    now = clock.now()
    address = calendar_address_read(secret=secret, now=now)
    if address is None:
        raise Http404(_("There is nothing here, or it is not yours to see."))
    text = calendar_feed(user=address.user, shop=shop_get(), site=_site(request), now=now)
    etag = f'"{sha256(text).hexdigest()}"'
    response = get_conditional_response(request, etag=etag)
    if response is None:
        response = HttpResponse(text, content_type="text/calendar; charset=utf-8")
    response.headers["ETag"] = etag
    patch_cache_control(response, private=True, no_cache=True)
    return response


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def own_calendar(request: HttpRequest) -> HttpResponse:
    """Say whether there is an address; sent, make a new one and show it this once."""
    actor, shown = _colleague(request), ""
    user_id = actor.user_id or 0
    if request.method == "POST":
        secret = calendar_address_make(actor=actor, user_id=user_id, now=clock.now())
        shown = urljoin(_site(request), reverse("jobs:calendar_feed", args=[secret]))
    context = {
        "address": CalendarAddress.objects.filter(user_id=user_id).first(),
        "shown": shown,
        "subscribe": "webcal:" + shown.partition(":")[2] if shown else "",
    }
    return render(request, "jobs/own_calendar.html", context)


@require_POST
def end(request: HttpRequest) -> HttpResponse:
    """End one's address."""
    actor = _colleague(request)
    if calendar_address_end(actor=actor, user_id=actor.user_id or 0, now=clock.now()):
        messages.success(request, _("The address is ended; calendar programs get nothing from it any more."))
    return redirect("jobs:own_calendar")


def _site(request: HttpRequest) -> str:
    """Return the address of Shopcool as people reach it."""
    return settings.PUBLIC_URL or request.build_absolute_uri("/")


def _colleague(request: HttpRequest) -> Actor:
    actor = actor_of(request)
    if not may_see_jobs(actor):
        raise Http404(_("There is nothing here, or it is not yours to see."))
    return actor
