"""Moments, contacts and dates in words, as every equipment page says them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.utils import timezone
from django.utils.dateformat import format as formatted
from django.utils.translation import gettext as _

from equipment.choices import DocumentKind
from equipment.exposure import Residue
from equipment.marks import residue_words
from equipment.models import Connection, Exposure
from equipment.readiness import DocumentFacts, MaintenanceFacts, PieceFacts
from shopcool.vehicles.choices import Refrigerant

SOON = timedelta(days=30)
#: Work in the house needs less notice than a renewed paper.
WORK_SOON = timedelta(days=7)


def moment_words(moment: datetime, now: datetime) -> str:
    """Return a moment as people say it, in the time zone of the workshop that the request has activated."""
    local, today = timezone.localtime(moment), timezone.localtime(now).date()
    clock = formatted(local, "H:i")
    if local.date() == today:
        return _("today %(clock)s") % {"clock": clock}
    if local.date() == today - timedelta(days=1):
        return _("yesterday %(clock)s") % {"clock": clock}
    if local.year == today.year:
        return formatted(local, "j M H:i")
    return formatted(local, "j M Y H:i")


def day_words(day: date) -> str:
    """Return a day with its month in letters, so that nobody mixes up day and month."""
    return formatted(day, "j M Y")


def contact_words(exposure: Exposure, now: datetime) -> str:
    """Return what a contact was with: the vehicle, the oil, when."""
    residue = Residue(
        lubricants=frozenset(exposure.lubricants),
        additives=frozenset(exposure.additives),
        unknown=exposure.unknown,
    )
    oil = residue_words(residue) or (_("unknown oil") if residue.unknown else "")
    vehicle = exposure.circuit.vehicle.registration if exposure.circuit else ""
    return ", ".join(part for part in (vehicle, oil, moment_words(exposure.occurred_at, now)) if part)


def holder_words(connection: Connection, now: datetime) -> str:
    """Return who has a piece: the vehicle, the job, since when."""
    return _("%(vehicle)s, job %(job)s, since %(moment)s") % {
        "vehicle": connection.circuit.vehicle.registration,
        "job": connection.job_number,
        "moment": moment_words(connection.connected_at, now),
    }


def gas_words(codes: Iterable[str]) -> str:
    """Return refrigerants as a list of words."""
    return ", ".join(str(Refrigerant(code).label) for code in sorted(codes))


def next_document_end(documents: Iterable[DocumentFacts]) -> tuple[DocumentKind, date] | None:
    """Return the kind of document that runs out next, counting only the newest proof of each kind."""
    last: dict[DocumentKind, date | None] = {}
    for document in documents:
        known = last.get(document.kind, date.min)
        endless = known is None or document.valid_until is None
        last[document.kind] = None if endless else max(known or date.min, document.valid_until or date.min)
    ends = [(end, kind) for kind, end in last.items() if end is not None]
    if not ends:
        return None
    end, kind = min(ends)
    return kind, end


def due_words(piece: PieceFacts, today: date) -> tuple[str, str]:
    """Return what is due next, document or work, in a sentence with its tone; both empty for nothing."""
    document, work = next_document_end(piece.documents), next_work(piece.maintenance)
    if work is not None and (document is None or work[0] <= document[1]):
        return _work_words(*work, today)
    return _document_words(*document, today) if document else ("", "")


def next_work(plans: Iterable[MaintenanceFacts]) -> tuple[date, MaintenanceFacts] | None:
    """Return the plan that is due next by the calendar, with its day."""
    days = [(plan.due_on, plan.what, plan) for plan in plans if plan.due_on is not None]
    return (min(days)[0], min(days)[2]) if days else None


def _work_words(end: date, plan: MaintenanceFacts, today: date) -> tuple[str, str]:
    named = {"work": plan.what, "day": day_words(end)}
    if end < today:
        return _("%(work)s was due on %(day)s") % named, "refusal" if plan.not_ready else "warning"
    if end - today <= WORK_SOON:
        return _("%(work)s is due soon, on %(day)s") % named, "warning"
    return _("%(work)s due on %(day)s") % named, ""


def _document_words(kind: DocumentKind, end: date, today: date) -> tuple[str, str]:
    named = {"document": kind.label, "day": day_words(end)}
    if end < today:
        return _("%(document)s ran out on %(day)s") % named, "refusal"
    if end - today <= SOON:
        return _("%(document)s runs out soon, on %(day)s") % named, "warning"
    return _("%(document)s until %(day)s") % named, ""
