"""What a piece needs and how often: plans added, changed and ended by an owner."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.errors import PlanChanged, PlanImpossible, ReasonMissing
from equipment.maintenance.choices import IntervalSource, WhenOverdue, Work
from equipment.maintenance.models import MaintenancePlan
from equipment.maintenance.policies import may_plan_maintenance
from equipment.maintenance.projection import day_begins, plan_project
from equipment.maintenance.rules import GLOVE_MONTHS_IN_STORE, GLOVE_SOURCE, Interval
from equipment.models import Piece
from equipment.selectors import today_at
from equipment.services.pieces import PieceDescription, piece_register
from shopcool.core.actors import Actor
from shopcool.core.errors import Conflict, NotAllowed, require
from shopcool.core.months import add_months
from shopcool.shop.selectors import shop_get


@dataclass(frozen=True)
class PlanDescription:
    """What is to be done, how often, who says so, and what being overdue means; tolerance of a scale [kg]."""

    work: Work
    interval: Interval
    source: IntervalSource
    when_overdue: WhenOverdue = WhenOverdue.NOT_READY
    starts_on: date | None = None
    title: str = ""
    source_note: str = ""
    tolerance_kg: float | None = None


@transaction.atomic
def plan_add(*, actor: Actor, piece: Piece, description: PlanDescription, now: datetime) -> MaintenancePlan:
    """Give a piece a plan; the first interval runs from ``starts_on``, else from today.

    Raises NotAllowed, PlanImpossible, Conflict when the piece has an open plan for the same work.
    """
    require(may_plan_maintenance(actor))
    if actor.user_id is None:
        raise NotAllowed(_("Only a person plans maintenance."))
    today = today_at(shop_get(), now)
    _check(description, piece, today)
    plan = MaintenancePlan(
        piece=piece, created_at=now, created_by_id=actor.user_id, starts_on=today, counts_from=now
    )
    _take(plan, description)
    try:
        with transaction.atomic():
            plan.save()
    except IntegrityError as error:
        raise _twice(piece, plan) from error
    plan = plan_project(plan)
    plan.refresh_from_db(fields=["is_reached"])
    return plan


@transaction.atomic
def piece_take_in(
    *, actor: Actor, description: PieceDescription, plans: Sequence[PlanDescription], now: datetime
) -> Piece:
    """Take a piece into the workshop together with its first plans; all of it or nothing."""
    piece = piece_register(actor=actor, description=description, now=now)
    for plan in plans:
        plan_add(actor=actor, piece=piece, description=plan, now=now)
    return piece


@transaction.atomic
def plan_change(
    *, actor: Actor, plan: MaintenancePlan, description: PlanDescription, revision: int, now: datetime
) -> MaintenancePlan:
    """Change how often, by whose word and with what consequence; the work stays the same.

    ``revision`` is the one that was looked at. Raises NotAllowed, PlanImpossible, and PlanChanged when
    somebody else changed or ended the plan meanwhile.
    """
    require(may_plan_maintenance(actor))
    locked = plan_lock(plan.pk)
    if locked.revision != revision or locked.ended_at is not None:
        raise PlanChanged(_("Somebody changed or ended this plan meanwhile. Look at it again."))
    _check(description, locked.piece, today_at(shop_get(), now))
    _take(locked, description)
    locked.revision += 1
    try:
        with transaction.atomic():
            locked.save()
    except IntegrityError as error:
        raise _twice(locked.piece, locked) from error
    return plan_project(locked)


@transaction.atomic
def plan_end(*, actor: Actor, plan: MaintenancePlan, reason: str, now: datetime) -> MaintenancePlan:
    """End a plan; what was done stays on record. Raises NotAllowed, ReasonMissing, PlanChanged."""
    require(may_plan_maintenance(actor))
    if not reason.strip():
        raise ReasonMissing(_("Say why the piece no longer needs this."), field="reason")
    locked = plan_lock(plan.pk)
    if locked.ended_at is not None:
        raise PlanChanged(_("This plan has ended already."))
    locked.ended_at, locked.ended_by_id, locked.ended_reason = now, actor.user_id, reason.strip()
    locked.save(update_fields=["ended_at", "ended_by", "ended_reason"])
    return locked


@transaction.atomic
def gloves_issue(*, actor: Actor, piece: Piece, issued_on: date, now: datetime) -> Piece:
    """Record the day on which gloves were first given out; from then on six months count.

    Raises NotAllowed, and PlanImpossible when they are no gloves, were given out before, or their last test
    is more than twelve months old.
    """
    require(may_plan_maintenance(actor))
    piece = Piece.objects.select_for_update(no_key=True).get(pk=piece.pk)
    if piece.kind != PieceKind.GLOVES or piece.issued_on is not None:
        raise PlanImpossible(_("Only gloves that lie in store can be given out."), field="issued_on")
    if issued_on > today_at(shop_get(), now):
        raise PlanImpossible(_("This lies in the future."), field="issued_on")
    tests = list(
        MaintenancePlan.objects.select_for_update().filter(
            piece=piece, work=Work.GLOVE_TEST, ended_at__isnull=True
        )
    )
    tested = [plan.last_done_on or plan.starts_on for plan in tests if plan.failed_on is None]
    if not tested or issued_on > add_months(max(tested), GLOVE_MONTHS_IN_STORE):
        raise PlanImpossible(
            _("They have no test of the last twelve months. Test them first (%(source)s).")
            % {"source": GLOVE_SOURCE},
            field="issued_on",
        )
    piece.issued_on = issued_on
    piece.save(update_fields=["issued_on"])
    for plan in tests:
        plan.piece = piece
        plan_project(plan)
    return piece


def plan_lock(plan_id: int) -> MaintenancePlan:
    """Return a plan with its piece, locked until the transaction ends."""
    plans = MaintenancePlan.objects.select_for_update(of=("self",)).select_related("piece")
    return plans.get(pk=plan_id)


def _take(plan: MaintenancePlan, description: PlanDescription) -> None:
    plan.work, plan.title = description.work, description.title.strip()
    plan.every_months, plan.every_days = description.interval.months, description.interval.days
    plan.every_hours, plan.every_kg = description.interval.hours, description.interval.kg
    plan.every_jobs, plan.tolerance_kg = description.interval.jobs, description.tolerance_kg
    plan.source, plan.source_note = description.source, description.source_note.strip()
    plan.when_overdue = description.when_overdue
    plan.starts_on = description.starts_on or plan.starts_on
    plan.counts_from = day_begins(plan.starts_on)


def _check(description: PlanDescription, piece: Piece, today: date) -> None:
    interval = description.interval
    if piece.retired_at is not None:
        raise PlanImpossible(_("%(piece)s is retired.") % {"piece": piece.code})
    if interval == Interval():
        raise PlanImpossible(_("Say how often: by months, days, hours, refrigerant or jobs."), field="months")
    if any(value is not None and value <= 0 for value in vars(interval).values()):
        raise PlanImpossible(_("An interval is more than nothing."), field="months")
    if description.work is Work.OTHER and not description.title.strip():
        raise PlanImpossible(_("Say what is to be done."), field="title")
    if description.starts_on is not None and description.starts_on > today:
        raise PlanImpossible(_("An interval can't begin in the future."), field="starts_on")
    if description.work is Work.GLOVE_TEST and piece.kind != PieceKind.GLOVES:
        raise PlanImpossible(_("Only gloves have a glove test."), field="work")
    if description.work is Work.TANK_CHECK and not _holds_one_gas(piece):
        sentence = _("Only a machine, or a cylinder that is not marked for foul gas, is looked into for air.")
        raise PlanImpossible(sentence, field="work")


def _holds_one_gas(piece: Piece) -> bool:
    kinds = {PieceKind.MACHINE, PieceKind.RECOVERY_CYLINDER}
    return piece.kind in kinds and not piece.is_marked_for_contaminated


def _twice(piece: Piece, plan: MaintenancePlan) -> Conflict:
    return Conflict(
        _("%(piece)s has a plan for this already: %(plan)s.") % {"piece": piece.code, "plan": plan},
        field="work",
    )
