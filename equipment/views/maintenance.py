"""Plans of a piece, the work that was done by them, and what is due across the workshop."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from equipment.attachments import work_parent
from equipment.forms.maintenance import (
    EndForm,
    PlanForm,
    WorkCorrectionForm,
    WorkForm,
    plan_values,
    tolerance_words,
)
from equipment.maintenance.choices import Work
from equipment.maintenance.plans import plan_add, plan_change, plan_end
from equipment.maintenance.policies import (
    may_correct_maintenance,
    may_plan_maintenance,
    may_record_maintenance,
)
from equipment.maintenance.work import work_correct, work_record
from equipment.pages.due_list import due_list
from equipment.pages.maintenance import open_plans, plan_row, records_of, records_page
from equipment.pages.piece import pieces_on_record
from equipment.policies import may_see_equipment
from equipment.selectors import pieces_visible_to, today_at
from equipment.views.doors import GET_OR_POST, attempt, colleague, posted, status_of
from shopcool.attachments.gallery import parent_address
from shopcool.core import clock
from shopcool.core.actors import Actor
from shopcool.core.loaders import load
from shopcool.people.requests import actor_of
from shopcool.shop.selectors import shop_get, shop_of
from shopcool.shop.units import Units, units_for


@require_safe
def due(request: HttpRequest) -> HttpResponse:
    """Show what is due across pieces and people."""
    actor, query, shop = colleague(request), request.GET, shop_of(request)
    page = due_list(
        actor,
        today_at(shop, clock.now()),
        kind=query.get("kind", ""),
        words=query.get("q", "")[:60],
        page=query.get("page", "1"),
        shop=shop,
    )
    return render(request, "equipment/due.html", {"page": page})


@require_safe
def piece_work(request: HttpRequest, code: str) -> HttpResponse:
    """Show all the work on record for one piece."""
    actor = actor_of(request)
    piece = load(pieces_on_record(actor), actor=actor, policy=may_see_equipment, code=code)
    rows, sheet = records_page(actor, piece, _units(actor), request.GET.get("page", "1"))
    return render(request, "equipment/work_records.html", {"piece": piece, "rows": rows, "sheet": sheet})


@require_http_methods(GET_OR_POST)
def plan_new(request: HttpRequest, code: str) -> HttpResponse:
    """Ask what a piece needs and how often, then plan it."""
    actor, now = actor_of(request), clock.now()
    piece = load(pieces_visible_to(actor), actor=actor, policy=may_plan_maintenance, code=code)
    form = PlanForm(
        posted(request), piece=piece, units=_units(actor), initial={"starts_on": today_at(shop_get(), now)}
    )
    plan = attempt(form, lambda: plan_add(actor=actor, piece=piece, description=form.description(), now=now))
    if plan is not None:
        messages.success(
            request, _("%(plan)s of %(piece)s is planned.") % {"plan": plan, "piece": piece.code}
        )
        return redirect("equipment:piece", code=piece.code)
    return render(request, "equipment/plan_form.html", {"piece": piece, "form": form}, status=status_of(form))


@require_http_methods(GET_OR_POST)
def plan_edit(request: HttpRequest, code: str, plan_id: int) -> HttpResponse:
    """Change how often a piece needs something."""
    actor, now = actor_of(request), clock.now()
    piece = load(pieces_visible_to(actor), actor=actor, policy=may_plan_maintenance, code=code)
    plan = load(open_plans(piece), actor=actor, policy=may_plan_maintenance, pk=plan_id)
    units = _units(actor)
    form = PlanForm(posted(request), piece=piece, units=units, plan=plan, initial=plan_values(plan, units))
    changed = attempt(form, lambda: plan_change(
        actor=actor, plan=plan, description=form.description(),
        revision=form.cleaned_data["revision"], now=now,
    ))  # fmt: skip
    if changed is not None:
        messages.success(request, _("The plan is changed."))
        return redirect("equipment:piece", code=piece.code)
    context = {"piece": piece, "form": form, "plan": plan}
    return render(request, "equipment/plan_form.html", context, status=status_of(form))


@require_http_methods(GET_OR_POST)
def plan_stop(request: HttpRequest, code: str, plan_id: int) -> HttpResponse:
    """Ask why a piece no longer needs something, then end the plan."""
    actor = actor_of(request)
    piece = load(pieces_visible_to(actor), actor=actor, policy=may_plan_maintenance, code=code)
    plan = load(open_plans(piece), actor=actor, policy=may_plan_maintenance, pk=plan_id)
    form = EndForm(posted(request))
    ended = attempt(form, lambda: plan_end(
        actor=actor, plan=plan, reason=form.cleaned_data["reason"], now=clock.now()
    ))  # fmt: skip
    if ended is not None:
        messages.success(request, _("The plan has ended. What was done stays on record."))
        return redirect("equipment:piece", code=piece.code)
    context = {"piece": piece, "form": form, "plan": plan}
    return render(request, "equipment/plan_end.html", context, status=status_of(form))


@require_http_methods(GET_OR_POST)
def plan_work(request: HttpRequest, code: str, plan_id: int) -> HttpResponse:
    """Ask what was done by a plan, then record it."""
    actor, now = actor_of(request), clock.now()
    piece = load(pieces_visible_to(actor), actor=actor, policy=may_record_maintenance, code=code)
    plan = load(open_plans(piece), actor=actor, policy=may_record_maintenance, pk=plan_id)
    units, today = _units(actor), today_at(shop_get(), now)
    form = WorkForm(posted(request), plan=plan, units=units, today=today)
    record = attempt(form, lambda: work_record(
        actor=actor, plan=plan, work=form.work(),
        submission_key=form.cleaned_data["submission_key"], now=now,
    ))  # fmt: skip
    if record is not None:
        messages.success(request, _("%(work)s of %(piece)s is on record.") % {"work": plan, "piece": code})
        if "attach" in request.POST:
            return redirect(parent_address(work_parent(record)))
        return redirect("equipment:piece", code=code)
    context = {"piece": piece, "plan": plan, "form": form, "row": plan_row(actor, plan, today, units)}
    if plan.work == Work.SCALE_CHECK:
        context["tolerance"] = tolerance_words(plan)
    return render(request, "equipment/work_form.html", context, status=status_of(form))


@require_http_methods(GET_OR_POST)
def correct(request: HttpRequest, code: str, sequence: int) -> HttpResponse:
    """Ask what was really done and why the record was wrong, then put the correction beside it."""
    actor, now = actor_of(request), clock.now()
    piece = load(pieces_visible_to(actor), actor=actor, policy=may_correct_maintenance, code=code)
    records = records_of(piece).select_related("plan__piece").filter(plan__isnull=False)
    record = load(records, actor=actor, policy=may_correct_maintenance, sequence=sequence)
    form = WorkCorrectionForm(
        posted(request), record=record, plan=record.plan, units=_units(actor),
        today=today_at(shop_get(), now),
    )  # fmt: skip
    correction = attempt(form, lambda: work_correct(
        actor=actor, record=record, work=form.work(), reason=form.cleaned_data["reason"],
        submission_key=form.cleaned_data["submission_key"], now=now,
    ))  # fmt: skip
    if correction is not None:
        messages.success(request, _("The correction is on record. The old record stays readable."))
        return redirect("equipment:piece", code=code)
    context = {"piece": piece, "plan": record.plan, "record": record, "form": form}
    return render(request, "equipment/work_form.html", context, status=status_of(form))


def _units(actor: Actor) -> Units:
    return units_for(shop_get(), actor.units)
