"""What has to be followed up: incidents with everything that led to them, and the owner's overrides."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator
from django.urls import reverse
from django.utils.translation import gettext as _

from equipment.choices import IncidentKind, IncidentStatus
from equipment.incidents import Incident
from equipment.links import job_url, vehicle_url
from equipment.models import Clearance, Exposure, Piece
from equipment.pages.life import LifeEntry, entries_of, life_entry
from equipment.readiness import Severity
from equipment.selectors import incidents_visible_to, overrides_visible_to
from shopcool.core.actors import Actor
from shopcool.vehicles.models import Vehicle

ON_A_PAGE = 25


@dataclass(frozen=True)
class RecordedReason:
    """A reason as it was recorded; its way out is left away, since it is too late for it."""

    sentence: str
    source: str
    tone: str


@dataclass(frozen=True)
class ConcernedPiece:
    """One piece of a connection with every reason that names it; without a name: the job as a whole."""

    name: str
    url: str
    tone: str
    reasons: tuple[RecordedReason, ...]


@dataclass(frozen=True)
class ConcernedVehicle:
    """A vehicle that an incident or one of the same cause is about."""

    vehicle: Vehicle
    url: str
    job_number: str
    job_url: str
    incident: Incident
    is_this: bool


@dataclass(frozen=True)
class IncidentPage:
    """Everything the page of an incident shows."""

    incident: Incident
    sentence: str
    is_open: bool
    vehicles: tuple[ConcernedVehicle, ...]
    pieces: tuple[ConcernedPiece, ...]
    entry: LifeEntry | None
    entry_piece_url: str
    job_url: str


@dataclass(frozen=True)
class IncidentRow:
    """One incident in the list."""

    incident: Incident
    url: str
    job_url: str
    is_open: bool


@dataclass(frozen=True)
class OverrideRow:
    """One connection on the owner's responsibility, with what it went against."""

    clearance: Clearance
    job_url: str
    vehicle_url: str
    reasons: tuple[RecordedReason, ...]
    incidents: tuple[Incident, ...]


def incident_rows(actor: Actor, page: str) -> tuple[list[IncidentRow], Page[Incident]]:
    """Return one sheet of incidents, open ones first."""
    sheet = Paginator(incidents_visible_to(actor), ON_A_PAGE).get_page(page)
    rows = [
        IncidentRow(
            incident=incident,
            url=reverse("equipment:incident", args=[incident.pk]),
            job_url=job_url(incident.job_number),
            is_open=incident.status == IncidentStatus.OPEN,
        )
        for incident in sheet
    ]
    return rows, sheet


def open_incidents(actor: Actor) -> int:
    """Return how many incidents wait for the owner."""
    return incidents_visible_to(actor).filter(status=IncidentStatus.OPEN).count()


def incident_page(incident: Incident) -> IncidentPage:
    """Return an incident with the late entry, the vehicles concerned and every reason."""
    entry = _entry(incident)
    return IncidentPage(
        incident=incident,
        sentence=_sentence(incident),
        is_open=incident.status == IncidentStatus.OPEN,
        vehicles=tuple(_vehicles(incident)),
        pieces=tuple(_pieces(incident)),
        entry=entry,
        entry_piece_url=reverse("equipment:piece", args=[entry.exposure.piece.code]) if entry else "",
        job_url=job_url(incident.job_number),
    )


def _sentence(incident: Incident) -> str:
    vehicle = {"vehicle": str(incident.circuit.vehicle), "job": incident.job_number}
    if incident.kind == IncidentKind.OVERRIDE:
        return _("%(vehicle)s was connected against a refusal on job %(job)s.") % vehicle
    if incident.kind == IncidentKind.BAD_OIL:
        return _("%(vehicle)s received oil of a lot that was found bad, on job %(job)s.") % vehicle
    if incident.kind == IncidentKind.LABEL_CHANGED:
        return (
            _("%(vehicle)s should have been refused on job %(job)s, as its corrected label data show.")
            % vehicle
        )
    return _("%(vehicle)s should have been refused on job %(job)s, as a late entry shows.") % vehicle


def _entry(incident: Incident) -> LifeEntry | None:
    if incident.exposure is None:
        return None
    cause: Exposure = incident.exposure
    shown = cause.corrects_id or cause.pk
    return life_entry(entries_of(cause.piece_id).get(pk=shown), may_withdraw=False)


def _vehicles(incident: Incident) -> Iterable[ConcernedVehicle]:
    related = [incident]
    if incident.exposure_id is not None:
        rows = Incident.objects.filter(exposure_id=incident.exposure_id).select_related("circuit__vehicle")
        related = list(rows.order_by("raised_at", "pk"))
    for one in related:
        vehicle = one.circuit.vehicle
        yield ConcernedVehicle(
            vehicle=vehicle,
            url=vehicle_url(vehicle.pk),
            job_number=one.job_number,
            job_url=job_url(one.job_number),
            incident=one,
            is_this=one.pk == incident.pk,
        )


def _pieces(incident: Incident) -> Iterable[ConcernedPiece]:
    pieces = Piece.objects.in_bulk(incident.clearance.piece_ids)
    by_piece: dict[int | None, list[dict[str, Any]]] = {}
    for reason in incident.reasons:
        by_piece.setdefault(reason["piece_id"], []).append(reason)
    for piece_id, reasons in by_piece.items():
        piece = pieces.get(piece_id) if piece_id else None
        recorded = tuple(recorded_reason(reason) for reason in reasons)
        yield ConcernedPiece(
            name=str(piece) if piece else _("The job as a whole"),
            url=reverse("equipment:piece", args=[piece.code]) if piece else "",
            tone="refusal" if any(reason.tone == "refusal" for reason in recorded) else "warning",
            reasons=recorded,
        )


def recorded_reason(reason: dict[str, Any]) -> RecordedReason:
    """Return a reason as it was recorded, with its tone."""
    tone = "refusal" if reason["severity"] == Severity.REFUSAL else "warning"
    return RecordedReason(reason["sentence"], reason["source"], tone)


def override_rows(actor: Actor, page: str) -> tuple[list[OverrideRow], Page[Clearance]]:
    """Return one sheet of overrides, newest first, each with the refusals it went against."""
    found = overrides_visible_to(actor).prefetch_related("incidents")
    sheet = Paginator(found, ON_A_PAGE).get_page(page)
    return [_override(clearance) for clearance in sheet], sheet


def _override(clearance: Clearance) -> OverrideRow:
    reasons = (recorded_reason(reason) for reason in clearance.reasons)
    return OverrideRow(
        clearance=clearance,
        job_url=job_url(clearance.job_number),
        vehicle_url=vehicle_url(clearance.circuit.vehicle_id),
        reasons=tuple(reason for reason in reasons if reason.tone == "refusal"),
        incidents=tuple(clearance.incidents.all()),
    )
