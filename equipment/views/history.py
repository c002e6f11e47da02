"""The life of one piece and the log of all of them: on pages, on paper, as a file for a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.text import get_valid_filename
from django.views.decorators.http import require_safe

from equipment.forms.history import LogForm, ScopeForm
from equipment.history import Scope, entries
from equipment.history.document import history_document
from equipment.history.table import history_lines
from equipment.pages.history import history_sheet, piece_history_page, piece_words
from equipment.pages.piece import pieces_on_record
from equipment.policies import may_see_equipment, may_see_log
from equipment.views.doors import colleague
from shopcool.core import clock
from shopcool.core.documents import typeset
from shopcool.core.loaders import load
from shopcool.people.requests import actor_of
from shopcool.shop.models import Shop
from shopcool.shop.selectors import shop_of
from shopcool.shop.units import units_for


@require_safe
def piece_history(request: HttpRequest, code: str) -> HttpResponse:
    """Show everything that happened to a piece."""
    actor, query = actor_of(request), request.GET.dict()
    piece = load(pieces_on_record(actor), actor=actor, policy=may_see_equipment, code=code)
    form = ScopeForm(query)
    page = piece_history_page(piece=piece, shop=shop_of(request), form=form, query=query, now=clock.now())
    context = {"page": page, "form": form}
    return render(request, "equipment/history.html", context, status=422 if form.errors else 200)


@require_safe
def piece_history_file(request: HttpRequest, code: str) -> HttpResponse:
    """Hand the history of a piece out as a document."""
    actor, shop, now = actor_of(request), shop_of(request), clock.now()
    piece = load(pieces_on_record(actor), actor=actor, policy=may_see_equipment, code=code)
    scope = ScopeForm(request.GET).scope(shop, piece.pk)
    facts, condition = piece_words(piece, shop, units_for(shop, actor.units), now)
    document = history_document(
        piece=piece, shop=shop, scope=scope, facts=facts, condition=condition, now=now
    )
    name = get_valid_filename(f"{piece.code}-history.pdf")
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(typeset(document, made_at=now), content_type="application/pdf", headers=headers)


@require_safe
def log(request: HttpRequest) -> HttpResponse:
    """Show what happened to all pieces, narrowed as the owner asks."""
    actor = colleague(request, may_see_log)
    form = LogForm(request.GET, actor=actor)
    shown = history_sheet(form.scope(shop_of(request)), request.GET.dict())
    context = {"form": form, "sheet": shown}
    return render(request, "equipment/log.html", context, status=422 if form.errors else 200)


@require_safe
def log_file(request: HttpRequest) -> HttpResponse | StreamingHttpResponse:
    """Stream the log as a file for a spreadsheet; a wrong filter is refused rather than left away."""
    actor, shop = colleague(request, may_see_log), shop_of(request)
    form = LogForm(request.GET, actor=actor)
    if form.errors:
        context = {"form": form, "sheet": history_sheet(Scope(), {})}
        return render(request, "equipment/log.html", context, status=422)
    name = f"equipment-log-{timezone.localtime(clock.now()):%Y-%m-%d}.csv"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    lines = _in_zone_of(shop, form.scope(shop))
    return StreamingHttpResponse(lines, content_type="text/csv; charset=utf-8", headers=headers)


def _in_zone_of(shop: Shop, scope: Scope) -> Iterator[str]:
    """Yield the lines in the workshop's time: by then the middleware has left the zone of the request."""
    with timezone.override(ZoneInfo(shop.time_zone)):
        yield from history_lines(entries(scope))
