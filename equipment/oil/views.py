"""The pages of the oil: the shelf, a lot, filling an injector, and everything that can happen to them."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from equipment.attachments import lot_parent
from equipment.choices import PieceKind
from equipment.models import Piece
from equipment.oil.actions import BY_SLUG, OilAct
from equipment.oil.filling import injector_fill
from equipment.oil.forms import FillForm, LotForm, OilForm, ReplaceForm, lot_initial
from equipment.oil.lots import oil_lot_receive
from equipment.oil.models import OilLot
from equipment.oil.pages import lot_page, shelf
from equipment.oil.relabelling import injector_replace
from equipment.oil.selectors import lot_now, lots_for_label, lots_now, lots_visible_to
from equipment.policies import may_handle_oil, may_manage_equipment, may_see_equipment
from equipment.selectors import pieces_visible_to
from equipment.views.doors import GET_OR_POST, attempt, colleague, posted, status_of
from shopcool.attachments.gallery import gallery
from shopcool.core import clock
from shopcool.core.actors import Actor
from shopcool.core.loaders import Policy, load
from shopcool.people.requests import actor_of
from shopcool.shop.selectors import shop_of
from shopcool.shop.units import units_for


@require_safe
def oil_shelf(request: HttpRequest) -> HttpResponse:
    """Show every lot: what is left, how long it has been open, whether it may be used."""
    actor, query = colleague(request), request.GET
    page = shelf(
        actor=actor,
        shop=shop_of(request),
        now=clock.now(),
        page=query.get("page", "1"),
        part=query.get("part", ""),
    )
    return render(request, "equipment/oil/shelf.html", {"shelf": page})


@require_http_methods(GET_OR_POST)
def lot_new(request: HttpRequest) -> HttpResponse:
    """Put a new container on the shelf."""
    actor = colleague(request, may_handle_oil)
    form = LotForm(posted(request), initial=lot_initial(shop_of(request), clock.now()))
    _ask_in(form, request, actor)
    lot = attempt(form, lambda: oil_lot_receive(
        actor=actor,
        description=form.description(),
        now=clock.now(),
        submission_key=form.cleaned_data["submission_key"],
    ))  # fmt: skip
    if lot is not None:
        messages.success(request, _("%(lot)s is on the shelf.") % {"lot": lot})
        return redirect("equipment:oil_lot", code=lot.code)
    return render(request, "equipment/oil/lot_new.html", {"form": form}, status=status_of(form))


@require_safe
def lot(request: HttpRequest, code: str) -> HttpResponse:
    """Show one lot: what is left, what happened to it, and where its oil went."""
    actor, found = _lot(request, code, may_see_equipment)
    shop = shop_of(request)
    current = lot_now(found, shop=shop, now=clock.now())
    page = lot_page(actor=actor, lot=current, units=units_for(shop, actor.units))
    context = {"page": page, "gallery": gallery(actor, lot_parent(found))}
    return render(request, "equipment/oil/lot.html", context)


@require_http_methods(GET_OR_POST)
def lot_action(request: HttpRequest, code: str, slug: str) -> HttpResponse:
    """Ask for what an action on a lot needs, then do it."""
    actor, found = _lot(request, code, may_handle_oil)
    return _act(request, actor, found, slug, reverse("equipment:oil_lot", args=[code]))


@require_http_methods(GET_OR_POST)
def injector_action(request: HttpRequest, code: str, slug: str) -> HttpResponse:
    """Ask for what an action on an injector's content needs, then do it."""
    actor, found = _injector(request, code, may_handle_oil)
    return _act(request, actor, found, slug, reverse("equipment:piece", args=[code]))


def _act(request: HttpRequest, actor: Actor, held: OilLot | Piece, slug: str, back: str) -> HttpResponse:
    action, named = BY_SLUG[slug], {"held": held.code}
    form = action.form(posted(request), initial=action.present(held))
    _ask_in(form, request, actor)
    done = attempt(form, lambda: (action.perform(OilAct(actor, held, form, clock.now())),))
    if done is not None:
        messages.success(request, action.done % named)
        return redirect(back)
    context = {
        "action": action, "form": form, "held": held, "back": back, "title": action.title % named,
        "is_lot": isinstance(held, OilLot),
    }  # fmt: skip
    return render(request, "equipment/oil/action.html", context, status=status_of(form))


@require_http_methods(GET_OR_POST)
def fill(request: HttpRequest, code: str) -> HttpResponse:
    """Ask from which lot an injector is filled and how much; only lots of its own label are offered."""
    actor, injector = _injector(request, code, may_handle_oil)
    every = lots_now(lots_visible_to(actor), shop=shop_of(request), now=clock.now())
    lots = lots_for_label(every, injector.lubricant, injector.lubricant_grade)
    form = FillForm(posted(request), lots=lots, units=units_for(shop_of(request), actor.units))
    _ask_in(form, request, actor)
    move = attempt(form, lambda: injector_fill(
        actor=actor,
        injector=injector,
        lot=load(lots_visible_to(actor), actor=actor, policy=may_handle_oil, code=form.cleaned_data["lot"]),
        amount=form.cleaned_data["amount"],
        now=clock.now(),
        submission_key=form.cleaned_data["submission_key"],
    ))  # fmt: skip
    if move is not None:
        messages.success(request, _("%(piece)s is filled.") % {"piece": injector.code})
        return redirect("equipment:piece", code=code)
    context = {"form": form, "piece": injector, "lots": lots}
    return render(request, "equipment/oil/fill.html", context, status=status_of(form))


@require_http_methods(GET_OR_POST)
def replace(request: HttpRequest, code: str) -> HttpResponse:
    """Retire an injector and start a new one with another label and code."""
    actor, injector = _injector(request, code, may_manage_equipment)
    form = ReplaceForm(posted(request), initial={"refrigerant": injector.refrigerant})
    new = attempt(form, lambda: injector_replace(
        actor=actor,
        injector=injector,
        description=form.description(),
        reason=form.cleaned_data["reason"],
        now=clock.now(),
    ))  # fmt: skip
    if new is not None:
        words = {"old": injector.code, "new": new.code}
        messages.success(request, _("%(old)s is retired. Inspect %(new)s before you fill it.") % words)
        return redirect("equipment:piece", code=new.code)
    context = {"form": form, "piece": injector}
    return render(request, "equipment/oil/replace.html", context, status=status_of(form))


def _lot(request: HttpRequest, code: str, policy: Policy) -> tuple[Actor, OilLot]:
    actor = actor_of(request)
    return actor, load(lots_visible_to(actor), actor=actor, policy=policy, code=code)


def _injector(request: HttpRequest, code: str, policy: Policy) -> tuple[Actor, Piece]:
    actor = actor_of(request)
    injectors = pieces_visible_to(actor).filter(kind=PieceKind.INJECTOR)
    return actor, load(injectors, actor=actor, policy=policy, code=code)


def _ask_in(form: forms.Form, request: HttpRequest, actor: Actor) -> None:
    if isinstance(form, OilForm):
        form.ask_in(units_for(shop_of(request), actor.units))
