"""The readiness board."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_safe

from equipment.forms.board import KindOfCarForm
from equipment.pages.asking import asked_circuit, asked_kind_of_car
from equipment.pages.board import Choice, board_page
from equipment.pages.circuits import circuit_named, circuits_found
from equipment.policies import (
    may_manage_equipment,
    may_manage_walls,
    may_record_purge,
)
from equipment.views.doors import colleague
from equipment.views.walls import wall_answer
from shopcool.core import clock
from shopcool.shop.selectors import shop_of


@require_safe
def board(request: HttpRequest) -> HttpResponseBase:
    """Show every piece by what can be done with it now, perhaps of one kind and for one car."""
    actor, query = colleague(request), request.GET
    if query.get("wall") == "1":
        return wall_answer(request, shop_of(request))
    plate, kind = query.get("plate", "").strip(), query.get("kind", "")
    found = circuits_found(actor, plate)
    circuit = found[0] if len(found) == 1 else circuit_named(actor, query.get("circuit", ""))
    form = KindOfCarForm(query if "drive" in query else None)
    asked = asked_circuit(circuit) if circuit else asked_kind_of_car(form) if form.is_valid() else None
    choice = Choice(kind, query.get("group", ""), query.get("page", "1"), asked)
    page = board_page(actor=actor, shop=shop_of(request), now=clock.now(), choice=choice)
    context = {
        "page": page,
        "kind": kind,
        "plate": plate,
        "found": found,
        "form": form,
        "may": {
            "purge": may_record_purge(actor),
            "register": may_manage_equipment(actor),
            "walls": may_manage_walls(actor),
        },
    }
    return render(request, "equipment/board.html", context, status=422 if form.errors else 200)
