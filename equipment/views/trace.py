"""Where a residue can have gone, and where it can have come from."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from equipment.forms.trace import TraceForm
from equipment.models import Piece
from equipment.pages.piece import pieces_on_record
from equipment.pages.trace import circuits_on_record, trace_page
from equipment.policies import may_see_equipment
from equipment.trace import Place
from equipment.views.doors import colleague
from shopcool.core import clock
from shopcool.core.loaders import load


@require_safe
def piece_trace(request: HttpRequest, code: str) -> HttpResponse:
    """Show where residue of a piece can have gone since its last purge, or what can have come into it."""
    actor = colleague(request)
    piece: Piece = load(pieces_on_record(actor), actor=actor, policy=may_see_equipment, code=code)
    since = piece.state.last_purge_at or piece.created_at
    back = reverse("equipment:piece", args=[piece.code])
    return _page(request, Place.PIECE, piece.pk, since, {"name": str(piece), "back": back})


@require_safe
def circuit_trace(request: HttpRequest, circuit_id: int) -> HttpResponse:
    """Show where residue of a car's circuit can have gone, or what can have come into it."""
    actor = colleague(request)
    circuit = load(circuits_on_record(actor), actor=actor, policy=may_see_equipment, pk=circuit_id)
    name = f"{circuit.vehicle}, {circuit.name}"
    return _page(request, Place.CIRCUIT, circuit.pk, circuit.vehicle.created_at, {"name": name})


def _page(
    request: HttpRequest, place: Place, id: int, usual: datetime, named: dict[str, str]
) -> HttpResponse:
    form = TraceForm(request.GET)
    at, direction = form.asked(usual, clock.now())
    context = {"page": trace_page(place, id, at, direction), "form": form, **named}
    return render(request, "equipment/trace.html", context, status=422 if form.errors else 200)
