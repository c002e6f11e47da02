"""The life of a piece: what happened, in words, and as bars and ticks over time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Prefetch, QuerySet
from django.urls import reverse
from django.utils.translation import gettext as _

from equipment.choices import ExposureKind
from equipment.exposure import BEFORE_ANYTHING, Condition, ExposureEvent, Residue, evolve, standing
from equipment.incidents import Incident
from equipment.links import job_url
from equipment.marks import residue_words
from equipment.models import Connection, Exposure
from equipment.pages.words import gas_words
from equipment.selectors import events_of
from shopcool.core.components.drawings import Row, Span, Tick
from shopcool.vehicles.choices import Lubricant

#: Entries are typed by the minute; only what was recorded later than that was recorded late.
LATE = timedelta(minutes=1)

SHAPES = {
    ExposureKind.CONNECTED: "connection",
    ExposureKind.DISCONNECTED: "connection",
    ExposureKind.CONTACT_DECLARED: "warning",
    ExposureKind.PUMP_OIL_SUSPECTED: "unknown",
    ExposureKind.RESIDUE_UNKNOWN: "unknown",
    ExposureKind.REGISTERED: "unknown",
    ExposureKind.INSPECTED: "good",
    ExposureKind.RETURNED: "good",
    ExposureKind.OUT_OF_SERVICE: "refusal",
}


@dataclass(frozen=True)
class LifeEntry:
    """One entry of the log as a person reads it."""

    exposure: Exposure
    title: str
    what: str
    shape: str
    is_late: bool
    withdrawal: Exposure | None
    incidents: tuple[Incident, ...]
    job_url: str
    purge_url: str
    withdraw_url: str


def entries_of(piece_id: int) -> QuerySet[Exposure]:
    """Return the entries of a piece, newest first; a withdrawal stands with the entry it withdraws."""
    incidents = Prefetch("incidents", Incident.objects.select_related("circuit__vehicle").order_by("pk"))
    return (
        Exposure.objects.filter(piece_id=piece_id)
        .exclude(kind=ExposureKind.VOIDED)
        .select_related("piece", "circuit__vehicle", "purge__machine", "corrected_by")
        .prefetch_related(incidents, Prefetch("corrected_by__incidents", incidents.queryset))
        .order_by("-occurred_at", "-sequence")
    )


def life_entry(exposure: Exposure, *, may_withdraw: bool) -> LifeEntry:
    """Return an entry in words; the query of :func:`entries_of` has loaded what it needs."""
    withdrawal = getattr(exposure, "corrected_by", None)
    caused = [*exposure.incidents.all(), *(withdrawal.incidents.all() if withdrawal else ())]
    can_be_withdrawn = ExposureKind(exposure.kind).can_be_withdrawn and withdrawal is None
    return LifeEntry(
        exposure=exposure,
        title=entry_title(exposure),
        what=entry_what(exposure),
        shape=entry_shape(exposure),
        is_late=exposure.recorded_at - exposure.occurred_at > LATE,
        withdrawal=withdrawal,
        incidents=tuple(caused),
        job_url=job_url(exposure.job_number),
        purge_url=reverse("equipment:purge_detail", args=[exposure.purge_id]) if exposure.purge_id else "",
        withdraw_url=reverse("equipment:withdraw", args=[exposure.piece.code, exposure.sequence])
        if may_withdraw and can_be_withdrawn
        else "",
    )


def entry_title(exposure: Exposure) -> str:
    """Return what happened, in a few words; circuit and vehicle must be loaded."""
    kind = ExposureKind(exposure.kind)
    vehicle = str(exposure.circuit.vehicle) if exposure.circuit else ""
    if kind is ExposureKind.CONNECTED:
        return _("Connected to %(vehicle)s") % {"vehicle": vehicle}
    if kind is ExposureKind.DISCONNECTED:
        return _("Disconnected from %(vehicle)s") % {"vehicle": vehicle}
    if kind is ExposureKind.CONTACT_DECLARED and vehicle:
        return _("Contact declared: %(vehicle)s") % {"vehicle": vehicle}
    if kind is ExposureKind.PURGED:
        return _("Line purge") if exposure.verified else _("Line purge that did not count")
    return str(kind.label)


def entry_what(exposure: Exposure) -> str:
    """Return what the entry left inside, or what a purge ran with."""
    if exposure.purge and exposure.verified:
        with_what = {"machine": exposure.purge.machine.code, "gas": gas_words([exposure.purge.refrigerant])}
        return _("with %(machine)s and %(gas)s") % with_what
    residue = Residue(
        lubricants=frozenset(exposure.lubricants),
        additives=frozenset(exposure.additives),
        unknown=exposure.unknown,
    )
    parts = [residue_words(residue), gas_words(exposure.refrigerants)]
    return ", ".join(part for part in (*parts, _("unknown") if residue.unknown else "") if part)


def entry_shape(exposure: Exposure) -> str:
    """Return the drawing of an entry."""
    kind = ExposureKind(exposure.kind)
    if kind is ExposureKind.PURGED:
        return "purge" if exposure.verified else "refusal"
    if kind is ExposureKind.REGISTERED and not exposure.unknown:
        return "plain"
    return SHAPES.get(kind, "plain")


# --- the drawing ------------------------------------------------------------------------------------


def life_rows(piece_id: int, start: datetime, end: datetime) -> list[Row]:
    """Return the two lines of the drawing: on which vehicle a piece was, and what it carried."""
    events = standing(events_of(piece_id))
    connections = (
        Connection.objects.filter(piece_id=piece_id, connected_at__lt=end)
        .exclude(disconnected_at__lte=start)
        .select_related("circuit__vehicle")
        .order_by("connected_at")
    )
    touched = [_connection_span(connection) for connection in connections]
    ticks = [
        Tick(event.occurred_at, _("Line purge"))
        for event in events
        if event.kind is ExposureKind.PURGED and event.verified
    ]
    return [Row(_("On a vehicle"), touched), Row(_("Carried"), carried_spans(events, start, end), ticks)]


def _connection_span(connection: Connection) -> Span:
    circuit = connection.circuit
    return Span(
        connection.connected_at,
        connection.disconnected_at,
        _oil_key({circuit.lubricant}),
        circuit.vehicle.registration,
    )


def carried_spans(events: Sequence[ExposureEvent], start: datetime, end: datetime) -> list[Span]:
    """Return what a piece carried from ``start`` to ``end``: one bar for as long as nothing changes."""
    condition, since = BEFORE_ANYTHING, start
    spans: list[Span] = []
    for event in events:
        after = evolve(condition, event)
        if event.occurred_at > start and carried(after) != carried(condition):
            spans.append(Span(since, event.occurred_at, carried(condition)))
            since = event.occurred_at
        condition = after
    return [*spans, Span(since, end, carried(condition))]


def carried(condition: Condition) -> str:
    """Return the oil of a bar; an additive without oil is drawn as unknown, since no trace of it is clean."""
    if not condition.in_service:
        return "out"
    residue = condition.residue
    if residue.unknown or (residue.additives and not residue.lubricants):
        return "unknown"
    return _oil_key(residue.lubricants) if residue.lubricants else "clear"


def _oil_key(lubricants: frozenset[str] | set[str]) -> str:
    if len(lubricants) > 1:
        return "several"
    (only,) = lubricants
    return "unknown" if only == Lubricant.UNKNOWN else only.lower()
