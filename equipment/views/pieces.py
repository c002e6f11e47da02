"""The page of a piece, its registration, and everything that can happen to it."""

from __future__ import annotations

from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from equipment.actions import ACTIONS_BY_SLUG, Act, actions_offered
from equipment.attachments import piece_parent
from equipment.choices import PieceKind
from equipment.forms.actions import WithdrawForm
from equipment.forms.measures import MeasuresForm
from equipment.forms.pieces import PieceForm
from equipment.maintenance.plans import piece_take_in
from equipment.models import Exposure, Piece
from equipment.oil.pages import injector_oil
from equipment.pages.life import entries_of, life_entry
from equipment.pages.piece import piece_page, pieces_on_record
from equipment.policies import (
    may_manage_equipment,
    may_print_labels,
    may_see_equipment,
    may_withdraw_exposure,
)
from equipment.selectors import pieces_visible_to
from equipment.services.exposures import exposure_withdraw
from equipment.views.doors import GET_OR_POST, attempt, colleague, posted, status_of
from shopcool.attachments.gallery import gallery
from shopcool.core import clock
from shopcool.core.actors import Actor
from shopcool.core.loaders import load
from shopcool.people.requests import actor_of
from shopcool.shop.selectors import shop_get
from shopcool.shop.units import units_for


@require_safe
def piece(request: HttpRequest, code: str) -> HttpResponse:
    """Show the life and the condition of one piece."""
    actor, query, shop = actor_of(request), request.GET, shop_get()
    found = load(pieces_on_record(actor), actor=actor, policy=may_see_equipment, code=code)
    page = piece_page(
        actor=actor, piece=found, shop=shop, now=clock.now(),
        page=query.get("page", "1"), days=query.get("days", ""), entry=query.get("entry", ""),
    )  # fmt: skip
    oil = injector_oil(actor=actor, piece=found, units=units_for(shop, actor.units))
    label_url = _label_url(actor, found)
    context = {
        "page": page,
        "actions": actions_offered(actor, found),
        "oil": oil,
        "label_url": label_url,
        "gallery": gallery(actor, piece_parent(found)),
    }
    return render(request, "equipment/piece.html", context)


def _label_url(actor: Actor, piece: Piece) -> str:
    """Return where the label of a piece is printed, empty for who may not or when it is retired."""
    if not may_print_labels(actor) or piece.retired_at is not None:
        return ""
    return f"{reverse('equipment:labels')}?{urlencode({'q': piece.code, 'pieces': piece.pk})}"


@require_http_methods(GET_OR_POST)
def piece_action(request: HttpRequest, code: str, slug: str) -> HttpResponse:
    """Ask for what an action on a piece needs, then do it."""
    action, actor = ACTIONS_BY_SLUG[slug], actor_of(request)
    pieces = pieces_visible_to(actor)
    if action.kind is not None:
        pieces = pieces.filter(kind=action.kind)
    found = load(pieces, actor=actor, policy=action.policy, code=code)
    form = action.form(posted(request), initial=action.initial(found))
    if isinstance(form, MeasuresForm):
        form.ask_in(units_for(shop_get(), actor.units))
    done = attempt(form, lambda: action.perform(Act(actor, found, form, clock.now())))
    if done is not None:
        messages.success(request, action.done % {"piece": found.code})
        return redirect(_after(found.code, done))
    context = {"piece": found, "action": action, "form": form, "title": action.title % {"piece": found.code}}
    return render(request, "equipment/piece_action.html", context, status=status_of(form))


@require_http_methods(GET_OR_POST)
def withdraw(request: HttpRequest, code: str, sequence: int) -> HttpResponse:
    """Ask why an entry is wrong, then withdraw it."""
    actor = actor_of(request)
    found = load(pieces_visible_to(actor), actor=actor, policy=may_withdraw_exposure, code=code)
    wrong = load(entries_of(found.pk), actor=actor, policy=may_withdraw_exposure, sequence=sequence)
    form = WithdrawForm(posted(request))
    done = attempt(form, lambda: exposure_withdraw(
        actor=actor, exposure=wrong, reason=form.cleaned_data["note"], now=clock.now()
    ))  # fmt: skip
    if done is not None:
        messages.success(request, _("The entry is withdrawn. It stays readable."))
        return redirect(_after(found.code, wrong))
    context = {"piece": found, "entry": life_entry(wrong, may_withdraw=False), "form": form}
    return render(request, "equipment/withdraw.html", context, status=status_of(form))


@require_http_methods(GET_OR_POST)
def register(request: HttpRequest) -> HttpResponse:
    """Ask for the kind of a new piece, then for what is written on it."""
    actor = colleague(request, may_manage_equipment)
    kind = request.GET.get("kind", "")
    if kind not in PieceKind.values:
        return render(request, "equipment/register_kind.html", {"kinds": list(PieceKind)})
    form = PieceForm(posted(request), kind=PieceKind(kind))
    new = attempt(form, lambda: piece_take_in(
        actor=actor, description=form.description(), plans=form.planned(), now=clock.now()
    ))  # fmt: skip
    if new is not None:
        messages.success(request, _("%(piece)s is registered.") % {"piece": new})
        return redirect("equipment:piece", code=new.code)
    context = {"form": form, "kind": PieceKind(kind)}
    return render(request, "equipment/register.html", context, status=status_of(form))


def _after(code: str, done: object) -> str:
    """Return where to go after an act: the piece, with the new entry in view when there is one."""
    query = f"?entry={done.sequence}" if isinstance(done, Exposure) else ""
    return f"{reverse('equipment:piece', args=[code])}{query}"
