"""Where the code on a piece's label leads."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from equipment.pages.piece import pieces_on_record
from equipment.policies import may_see_equipment
from jobs.pages.scan import scan_page
from jobs.views.loading import in_hand
from shopcool.core import clock
from shopcool.core.loaders import load
from shopcool.people.requests import actor_of
from shopcool.shop.selectors import shop_get


@require_safe
def scan(request: HttpRequest, public_id: str) -> HttpResponse:
    """Offer what the piece can be used for on the cars in the workshop, or show its page."""
    actor = actor_of(request)
    visible = pieces_on_record(actor)
    piece = load(visible, actor=actor, policy=may_see_equipment, public_id=public_id.lower())
    page = scan_page(actor=actor, piece=piece, in_hand=in_hand(request), shop=shop_get(), now=clock.now())
    if page is None:
        return redirect("equipment:piece", code=piece.code)
    return render(request, "jobs/scan.html", {"page": page})
