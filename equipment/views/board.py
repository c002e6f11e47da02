"""The readiness board."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from equipment.pages.board import board_page
from equipment.pages.circuits import circuit_named, circuits_found
from equipment.pages.follow_up import open_incidents
from equipment.policies import may_manage_equipment, may_record_purge, may_see_incidents
from equipment.views.doors import colleague
from shopcool.core import clock
from shopcool.shop.selectors import shop_get


@require_safe
def board(request: HttpRequest) -> HttpResponse:
    """Show every piece by what can be done with it now, perhaps of one kind and for one car."""
    actor, query = colleague(request), request.GET
    plate, kind = query.get("plate", "").strip(), query.get("kind", "")
    found = circuits_found(actor, plate)
    circuit = found[0] if len(found) == 1 else circuit_named(actor, query.get("circuit", ""))
    page = board_page(actor=actor, shop=shop_get(), now=clock.now(), kind=kind, circuit=circuit)
    rights = {"purge": may_record_purge(actor), "register": may_manage_equipment(actor)}
    incidents = open_incidents(actor) if may_see_incidents(actor) else None
    context = {
        "page": page,
        "kind": kind,
        "plate": plate,
        "found": found,
        "may": rights,
        "incidents": incidents,
    }
    return render(request, "equipment/board.html", {**context, "wall": query.get("wall") == "1"})
