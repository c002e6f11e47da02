"""What is due until a day, across pieces, people and oil, with a constant number of queries."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import cast

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _

from equipment.choices import INSTRUMENTS, DocumentKind, PieceKind
from equipment.due import DueItem, DueKind
from equipment.maintenance.choices import WhenOverdue
from equipment.maintenance.models import MaintenancePlan
from equipment.models import PieceDocument
from equipment.oil.due import lots_due
from shopcool.people.models import Competence
from shopcool.people.selectors import competences_standing
from shopcool.shop.models import Shop


def due_items(*, today: date, until: date, shop: Shop | None = None) -> list[DueItem]:
    """Return everything open that is due until a day, overdue things included, the most urgent first.

    ``today`` is the day at which a limit that has no day of its own, like hours run or stock that is low,
    counts as due. ``shop`` is the workshop where it was read already.
    """
    items = [
        *_plans_due(today, until),
        *_documents_due(until),
        *_competences_due(until),
        *lots_due(today, until, shop),
    ]
    return sorted(items, key=lambda item: (item.due_on, item.key))


def plans_due(until: date) -> QuerySet[MaintenancePlan]:
    """Return the open plans of pieces in use that are due until a day, or at once by use or failure."""
    at_once = Q(is_reached=True) | Q(failed_on__isnull=False)
    return (
        MaintenancePlan.objects.filter(at_once | Q(due_on__lte=until))
        .filter(ended_at__isnull=True, piece__retired_at__isnull=True)
        .select_related("piece")
        .order_by("due_on", "pk")
    )


def documents_due(until: date) -> QuerySet[PieceDocument]:
    """Return the proofs of pieces in use that run out until a day and that no later proof replaces."""
    return (
        PieceDocument.objects.filter(valid_until__lte=until, piece__retired_at__isnull=True)
        .exclude(Exists(_replacing_documents()))
        .select_related("piece")
        .order_by("valid_until", "pk")
    )


def _replacing_documents() -> QuerySet[PieceDocument]:
    """Proofs of the same piece and kind that cover at least as much and run longer."""
    return PieceDocument.objects.filter(
        _runs_longer(),
        Q(covers_high_voltage=True) | Q(covers_high_voltage=OuterRef("covers_high_voltage")),
        piece_id=OuterRef("piece_id"),
        kind=OuterRef("kind"),
        refrigerants__contains=OuterRef("refrigerants"),
    )


def competences_due(until: date) -> QuerySet[Competence]:
    """Return the competences of active people that run out until a day and that no later one replaces."""
    later = competences_standing().filter(_runs_longer(), user_id=OuterRef("user_id"), kind=OuterRef("kind"))
    return (
        competences_standing()
        .filter(valid_until__lte=until, user__is_active=True)
        .exclude(Exists(later))
        .select_related("user")
        .order_by("valid_until", "pk")
    )


def _runs_longer() -> Q:
    """Whether a proof ends later than the outer one; of two that end together the newer entry counts."""
    end = OuterRef("valid_until")
    return Q(valid_until__isnull=True) | Q(valid_until__gt=end) | Q(valid_until=end, pk__gt=OuterRef("pk"))


def _plans_due(today: date, until: date) -> Iterator[DueItem]:
    for plan in plans_due(until):
        days = [plan.due_on, plan.failed_on, today if plan.is_reached else None]
        due_on = min(day for day in days if day is not None)
        if due_on > until:
            continue
        yield DueItem(
            key=f"plan:{plan.pk}",
            kind=DueKind.MAINTENANCE,
            what=_("%(work)s of %(piece)s") % {"work": plan, "piece": plan.piece.code},
            due_on=due_on,
            blocks=plan.when_overdue == WhenOverdue.NOT_READY or plan.failed_on is not None,
            piece_id=plan.piece_id,
            piece_code=plan.piece.code,
        )


def _documents_due(until: date) -> Iterator[DueItem]:
    for row in documents_due(until):
        is_certificate = row.kind == DocumentKind.CERTIFICATE
        yield DueItem(
            key=f"document:{row.pk}",
            kind=DueKind.CERTIFICATE if is_certificate else DueKind.CALIBRATION,
            what=_("%(document)s of %(piece)s") % {"document": row, "piece": row.piece.code},
            due_on=cast(date, row.valid_until),
            blocks=row.piece.kind in {PieceKind.MACHINE, *INSTRUMENTS},
            piece_id=row.piece_id,
            piece_code=row.piece.code,
        )


def _competences_due(until: date) -> Iterator[DueItem]:
    for row in competences_due(until):
        yield DueItem(
            key=f"competence:{row.pk}",
            kind=DueKind.COMPETENCE,
            what=_("%(competence)s of %(person)s") % {"competence": row, "person": row.user},
            due_on=cast(date, row.valid_until),
            blocks=True,
            user_id=row.user_id,
            person=str(row.user),
        )
