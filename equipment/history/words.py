"""The rows of each log in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from equipment.choices import ExposureKind, Verdict
from equipment.exposure import Residue
from equipment.history.entries import HistoryEntry, Measure, Topic
from equipment.incidents import Incident
from equipment.ledger import Account, Content, LedgerEntry
from equipment.links import job_url
from equipment.maintenance.choices import WorkOutcome
from equipment.maintenance.models import MaintenanceRecord
from equipment.marks import residue_words
from equipment.models import Clearance, Exposure, Piece, PieceDocument, Purge
from equipment.pages.life import entry_shape, entry_title, entry_what
from equipment.pages.words import day_words, gas_words
from shopcool.core.records import ChainedRecord
from shopcool.vehicles.models import Circuit

VERDICT_SHAPES = {
    Verdict.PERMITTED: "good",
    Verdict.REFUSED: "refusal",
    Verdict.OVERRIDDEN: "warning",
}


def _place(row: ChainedRecord) -> dict[str, Any]:
    """Return where a record stands: its chain, who wrote it and when."""
    return {
        "who": row.recorded_by_name,
        "recorded_at": row.recorded_at,
        "stream": row.stream,
        "sequence": row.sequence,
        "hash": row.hash,
    }


def _plate(circuit: Circuit | None) -> str:
    return circuit.vehicle.registration if circuit else ""


def _joined(*parts: str) -> str:
    return " · ".join(part for part in parts if part)


def tell_exposures(rows: Sequence[Exposure]) -> list[HistoryEntry]:
    """Return entries of the exposure log; one that was withdrawn says so, and so does its withdrawal."""
    withdrawn = set(Exposure.objects.filter(corrects__in=rows).values_list("corrects_id", flat=True))
    return [_exposure(row, is_withdrawn=row.pk in withdrawn) for row in rows]


def _exposure(row: Exposure, *, is_withdrawn: bool) -> HistoryEntry:
    purge = row.purge
    residue = Residue(frozenset(row.lubricants), additives=frozenset(row.additives))
    topic = Topic.PURGE if purge else Topic.CONTACT
    url = reverse("equipment:purge_detail", args=[purge.pk]) if purge else job_url(row.job_number)
    text = _joined(_withdrawal(row, is_withdrawn), entry_what(row), row.note)
    return HistoryEntry(
        topic=topic,
        at=row.occurred_at,
        title=f"{row.piece.code}: {entry_title(row)}",
        text=text,
        kind="refusal" if is_withdrawn else entry_shape(row),
        url=url,
        pieces=(row.piece.code,),
        vehicle=_plate(row.circuit),
        job_number=row.job_number,
        verdict=_purge_verdict(row) if purge else "",
        oils=residue_words(residue) or (_("unknown") if row.unknown else ""),
        refrigerants=gas_words(row.refrigerants),
        measures=_readings(purge) if purge else {},
        note=row.note,
        **_place(row),
    )


def _withdrawal(row: Exposure, is_withdrawn: bool) -> str:
    if is_withdrawn:
        return _("Withdrawn later, it does not count.")
    if row.kind == ExposureKind.VOIDED and row.corrects is not None:
        return _("Withdraws entry %(number)d of this piece.") % {"number": row.corrects.sequence}
    return ""


def _purge_verdict(row: Exposure) -> str:
    return _("counts") if row.verified else _("does not count")


def _readings(purge: Purge) -> dict[Measure, float]:
    read = {
        Measure.CIRCULATED: purge.circulated_kg,
        Measure.DURATION: purge.duration_s,
        Measure.VACUUM: purge.final_vacuum_pa,
    }
    return {measure: value for measure, value in read.items() if value is not None}


def tell_clearances(rows: Sequence[Clearance]) -> list[HistoryEntry]:
    """Return recorded decisions with all reasons, the pieces named with one query for all."""
    ids = {piece_id for row in rows for piece_id in row.piece_ids}
    codes = dict(Piece.objects.filter(pk__in=ids).values_list("pk", "code"))
    return [_clearance(row, tuple(codes.get(piece_id, "?") for piece_id in row.piece_ids)) for row in rows]


def _clearance(row: Clearance, pieces: tuple[str, ...]) -> HistoryEntry:
    verdict = Verdict(row.verdict)
    named = {"pieces": ", ".join(pieces), "verdict": verdict.label, "vehicle": row.circuit.vehicle}
    reasons = [str(reason["sentence"]) for reason in row.reasons]
    return HistoryEntry(
        topic=Topic.CLEARANCE,
        at=row.occurred_at,
        title=_("%(pieces)s, %(vehicle)s: %(verdict)s") % named,
        text=_joined(row.override_reason, *reasons),
        kind=VERDICT_SHAPES[verdict],
        url=job_url(row.job_number),
        pieces=pieces,
        vehicle=_plate(row.circuit),
        job_number=row.job_number,
        verdict=str(verdict.label),
        note=row.override_reason,
        **_place(row),
    )


def tell_refrigerant(rows: Sequence[LedgerEntry]) -> list[HistoryEntry]:
    """Return movements of refrigerant between two accounts."""
    return [_movement(row) for row in rows]


def _movement(row: LedgerEntry) -> HistoryEntry:
    content = Content(row.content).label
    named = {
        "mass": f"{row.mass_kg:.3f}",
        "content": content,
        "source": _account(row.source),
        "target": _account(row.target),
    }
    holders = [account for account in (row.source, row.target) if account.piece is not None]
    circuits = [account.circuit for account in (row.source, row.target) if account.circuit is not None]
    return HistoryEntry(
        topic=Topic.REFRIGERANT,
        at=row.occurred_at,
        title=_("%(mass)s kg %(content)s from %(source)s to %(target)s") % named,
        text=row.note,
        url=job_url(row.job_number),
        pieces=tuple(account.piece.code for account in holders if account.piece is not None),
        vehicle=_plate(circuits[0] if circuits else None),
        job_number=row.job_number,
        refrigerants=str(content),
        measures={Measure.MASS: float(row.mass_kg)},
        note=row.note,
        **_place(row),
    )


def _account(account: Account) -> str:
    if account.piece is not None:
        return account.piece.code
    return _plate(account.circuit) or str(account.get_kind_display())


def tell_documents(rows: Sequence[PieceDocument]) -> list[HistoryEntry]:
    """Return certificates and calibrations at the moment at which they were entered."""
    return [_document(row) for row in rows]


def _document(row: PieceDocument) -> HistoryEntry:
    ends = _("until %(day)s") % {"day": day_words(row.valid_until)} if row.valid_until else _("without end")
    issued = _("issued %(day)s by %(body)s") % {"day": day_words(row.issued_on), "body": row.body}
    return HistoryEntry(
        topic=Topic.DOCUMENT,
        at=row.created_at,
        title=f"{row.piece.code}: {row}",
        text=_joined(issued, ends, gas_words(row.refrigerants)),
        kind="good",
        url=f"{reverse('equipment:piece', args=[row.piece.code])}#documents",
        pieces=(row.piece.code,),
        refrigerants=gas_words(row.refrigerants),
        who=row.recorded_by_name,
        recorded_at=row.created_at,
    )


def tell_incidents(rows: Sequence[Incident]) -> list[HistoryEntry]:
    """Return incidents at the moment at which they were raised."""
    return [_incident(row) for row in rows]


def _incident(row: Incident) -> HistoryEntry:
    piece = row.exposure.piece if row.exposure else None
    closed = _("Closed: %(what)s") % {"what": row.resolution} if row.resolution else _("Still open.")
    return HistoryEntry(
        topic=Topic.INCIDENT,
        at=row.raised_at,
        title=f"{row.circuit.vehicle}: {row.get_kind_display()}",
        text=_joined(closed, *(str(reason["sentence"]) for reason in row.reasons)),
        kind="warning",
        url=reverse("equipment:incident", args=[row.pk]),
        pieces=(piece.code,) if piece else (),
        vehicle=_plate(row.circuit),
        job_number=row.job_number,
        verdict=str(row.get_status_display()),
        note=row.resolution,
    )


def tell_maintenance(rows: Sequence[MaintenanceRecord]) -> list[HistoryEntry]:
    """Return work that was done, and corrections of such records."""
    return [_maintenance(row) for row in rows]


def _maintenance(row: MaintenanceRecord) -> HistoryEntry:
    outcome = WorkOutcome(row.outcome)
    corrects = row.corrects
    corrected = _("Corrects entry %(number)d") % {"number": corrects.sequence} if corrects else ""
    return HistoryEntry(
        topic=Topic.MAINTENANCE,
        at=row.counts_from,
        title=f"{row.piece.code}: {row}",
        text=_joined(corrected, str(outcome.label), row.done_by, row.parts, row.note),
        kind="plain",
        url=reverse("equipment:piece", args=[row.piece.code]),
        pieces=(row.piece.code,),
        verdict=str(outcome.label),
        note=row.note,
        **_place(row),
    )
