"""The open plans of pieces as the rules of clearance see them."""

from __future__ import annotations

from collections.abc import Iterable

from equipment.maintenance.choices import IntervalSource, WhenOverdue
from equipment.maintenance.models import MaintenancePlan
from equipment.readiness import MaintenanceFacts


def maintenance_facts(piece_ids: Iterable[int]) -> dict[int, tuple[MaintenanceFacts, ...]]:
    """Return the open plans by piece with one query; a piece without any is missing."""
    plans = MaintenancePlan.objects.filter(piece_id__in=list(piece_ids), ended_at__isnull=True)
    found: dict[int, list[MaintenanceFacts]] = {}
    for plan in plans.order_by("piece_id", "pk"):
        found.setdefault(plan.piece_id, []).append(facts_of(plan))
    return {piece_id: tuple(facts) for piece_id, facts in found.items()}


def facts_of(plan: MaintenancePlan) -> MaintenanceFacts:
    """Return one plan as the rules see it."""
    return MaintenanceFacts(
        what=str(plan),
        source=source_words(plan),
        not_ready=plan.when_overdue == WhenOverdue.NOT_READY,
        due_on=plan.due_on,
        is_reached=plan.is_reached,
        failed_on=plan.failed_on,
    )


def source_words(plan: MaintenancePlan) -> str:
    """Return who says how often, and where."""
    return ": ".join(part for part in (str(IntervalSource(plan.source).label), plan.source_note) if part)
