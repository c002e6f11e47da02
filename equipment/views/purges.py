"""Putting a purge loop together, recording the purge, and its result."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from equipment.forms.purges import PurgeForm
from equipment.pages.loops import loop_page, selection_from
from equipment.pages.purges import purge_result, purges_visible_to
from equipment.policies import may_record_purge, may_see_equipment
from equipment.services.submissions import purge_submit
from equipment.views.doors import GET_OR_POST, attempt, colleague, posted, status_of
from shopcool.core import clock
from shopcool.core.loaders import load
from shopcool.people.requests import actor_of
from shopcool.shop.selectors import shop_get
from shopcool.shop.units import units_for


@require_http_methods(GET_OR_POST)
def purge_create(request: HttpRequest) -> HttpResponse:
    """Show the loop as it is tapped together, then record the purge."""
    actor, now, sent = colleague(request, may_record_purge), clock.now(), posted(request)
    fresh = sent is None and not request.htmx  # type: ignore[attr-defined]
    page = loop_page(actor=actor, selection=selection_from(sent or request.GET), suggest=fresh)
    form = PurgeForm(sent, page=page, units=units_for(shop_get(), actor.units))
    purge = attempt(form, lambda: purge_submit(actor=actor, now=now, **form.purge(now)))
    if purge is not None:
        return redirect("equipment:purge_detail", purge_id=purge.pk)
    template = "equipment/_loop.html" if request.htmx else "equipment/purge_form.html"  # type: ignore[attr-defined]
    return render(request, template, {"page": page, "form": form}, status=status_of(form))


@require_safe
def purge_detail(request: HttpRequest, purge_id: int) -> HttpResponse:
    """Show whether a purge counts and what became of each piece."""
    actor = actor_of(request)
    purge = load(purges_visible_to(actor), actor=actor, policy=may_see_equipment, pk=purge_id)
    result = purge_result(purge, units_for(shop_get(), actor.units))
    context = {"result": result, "may_purge": may_record_purge(actor)}
    return render(request, "equipment/purge_detail.html", context)
