"""What the records, uses and connections say about a plan: derived columns that can be made again."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Min, QuerySet, Sum

from equipment.maintenance.choices import Work, WorkOutcome
from equipment.maintenance.models import MaintenancePlan, MaintenanceRecord, PieceUse
from equipment.maintenance.rules import GLOVE_MONTHS_IN_USE, Interval, Used, due_on, gloves_due_on
from equipment.models import Connection
from shopcool.shop.selectors import shop_get

DERIVED = (
    "last_done_on", "failed_on", "counts_from", "used_hours", "used_kg", "used_jobs", "due_on",
)  # fmt: skip


def interval_of(plan: MaintenancePlan) -> Interval:
    """Return how often a plan asks for its work."""
    return Interval(plan.every_months, plan.every_days, plan.every_hours, plan.every_kg, plan.every_jobs)


def used_of(plan: MaintenancePlan) -> Used:
    """Return how much the piece was used since the work was last done."""
    return Used(plan.used_hours, plan.used_kg, plan.used_jobs)


def start_of(plan: MaintenancePlan) -> date:
    """Return the day from which the present interval runs."""
    return plan.last_done_on or plan.starts_on


def day_begins(day: date) -> datetime:
    """Return the first moment of a day at the workshop."""
    return datetime.combine(day, time(), ZoneInfo(shop_get().time_zone))


def standing_records(plan: MaintenancePlan) -> QuerySet[MaintenanceRecord]:
    """Return the records of a plan that were not corrected, the latest work first."""
    return MaintenanceRecord.objects.filter(plan=plan, corrected_by__isnull=True).order_by(
        "-done_on", "-sequence"
    )


def plan_derive(plan: MaintenancePlan) -> dict[str, Any]:
    """Return the derived columns of a plan as everything on record says now.

    A failed check does not begin a new interval; work that is done after it does.
    """
    latest = standing_records(plan).first()
    done = standing_records(plan).exclude(outcome=WorkOutcome.FAILED).first()
    failed = latest if latest is not None and latest.outcome == WorkOutcome.FAILED else None
    done_on = done.done_on if done else None
    since = done.counts_from if done else day_begins(plan.starts_on)
    used = used_since(plan.piece_id, since)
    return {
        "last_done_on": done_on,
        "failed_on": failed.done_on if failed else None,
        "counts_from": since,
        "used_hours": used.hours,
        "used_kg": used.kg,
        "used_jobs": used.jobs,
        "due_on": _due_on(plan, done_on),
    }


def used_since(piece_id: int, since: datetime) -> Used:
    """Return how much a piece was used after a moment, from the log of uses and its connections."""
    uses = PieceUse.objects.filter(piece_id=piece_id, occurred_at__gt=since)
    sums = uses.aggregate(hours=Sum("hours"), kg=Sum("mass_kg"))
    return Used(sums["hours"] or 0.0, sums["kg"] or 0.0, _jobs_since(piece_id, since))


def plan_project(plan: MaintenancePlan) -> MaintenancePlan:
    """Write the derived columns of a locked plan."""
    for name, value in plan_derive(plan).items():
        setattr(plan, name, value)
    plan.save(update_fields=DERIVED)
    return plan


def stale_plans() -> Iterator[MaintenancePlan]:
    """Yield every open plan whose derived columns differ from what is on record."""
    for plan in MaintenancePlan.objects.filter(ended_at__isnull=True).select_related("piece").order_by("pk"):
        derived = plan_derive(plan)
        if any(_differ(getattr(plan, name), value) for name, value in derived.items()):
            yield plan


def _differ(kept: Any, derived: Any) -> bool:
    if isinstance(kept, float) and isinstance(derived, float):
        return abs(kept - derived) > 1e-6
    return bool(kept != derived)


def _due_on(plan: MaintenancePlan, done_on: date | None) -> date | None:
    interval, start = interval_of(plan), done_on or plan.starts_on
    if plan.work != Work.GLOVE_TEST:
        return due_on(interval, start)
    by_standard = gloves_due_on(start, plan.piece.issued_on)
    is_stricter = interval.days is not None or (interval.months or GLOVE_MONTHS_IN_USE) < GLOVE_MONTHS_IN_USE
    by_shop = due_on(interval, start) if is_stricter else None
    return min(by_standard, by_shop or by_standard)


def _jobs_since(piece_id: int, since: datetime) -> int:
    """Return the number of jobs that began for a piece after a moment; coming on again is the same job."""
    jobs = Connection.objects.filter(piece_id=piece_id).values("job_number")
    return jobs.annotate(first=Min("connected_at")).filter(first__gt=since).count()
