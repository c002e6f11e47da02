"""Reads of the equipment: facts for the rules, the log, who has what."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db.models import QuerySet, prefetch_related_objects

from equipment.choices import INSTRUMENTS, DocumentKind, ExposureKind, PieceKind, Verdict
from equipment.exposure import Condition, ExposureEvent, Residue, fold
from equipment.incidents import Incident
from equipment.maintenance.facts import maintenance_facts
from equipment.measures import HoseMeasures, Weighing
from equipment.models import Clearance, Connection, Exposure, Piece, PieceDocument
from equipment.policies import may_see_equipment, may_see_incidents
from equipment.purging import LINE_PURGE, PurgeMethod
from equipment.readiness import CircuitFacts, DocumentFacts, PersonFacts, PieceFacts
from shopcool.core.actors import Actor
from shopcool.people.models import CompetenceKind
from shopcool.people.selectors import competences_in_date
from shopcool.shop.models import Shop
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from shopcool.vehicles.models import Circuit


def pieces_visible_to(actor: Actor) -> QuerySet[Piece]:
    """Return the pieces in use that the person may see, by code."""
    if not may_see_equipment(actor):
        return Piece.objects.none()
    return Piece.objects.filter(retired_at__isnull=True).select_related("state").order_by("code")


def wetted_visible_to(actor: Actor) -> QuerySet[Piece]:
    """Return the pieces in use that refrigerant passes through, by code; instruments are left out."""
    return pieces_visible_to(actor).exclude(kind__in=INSTRUMENTS)


def incidents_visible_to(actor: Actor) -> QuerySet[Incident]:
    """Return the incidents the person may see, open ones first, newest first."""
    if not may_see_incidents(actor):
        return Incident.objects.none()
    return Incident.objects.select_related(
        "exposure__piece", "clearance", "circuit__vehicle", "closed_by"
    ).order_by("-status", "-raised_at", "-pk")


def overrides_visible_to(actor: Actor) -> QuerySet[Clearance]:
    """Return the connections made on an owner's responsibility, newest first."""
    if not may_see_incidents(actor):
        return Clearance.objects.none()
    return (
        Clearance.objects.filter(verdict=Verdict.OVERRIDDEN)
        .select_related("circuit__vehicle")
        .order_by("-occurred_at", "-pk")
    )


def today_at(shop: Shop, now: datetime) -> date:
    """Return the calendar day at the workshop."""
    return now.astimezone(ZoneInfo(shop.time_zone)).date()


def circuit_facts(circuit: Circuit) -> CircuitFacts:
    """Return a circuit as the rules see it; ``circuit.vehicle`` should be loaded."""
    return CircuitFacts(
        name=str(circuit),
        refrigerant=Refrigerant(circuit.refrigerant),
        lubricant=Lubricant(circuit.lubricant),
        drive=Drive(circuit.drive),
        suspected_lubricants=frozenset(circuit.suspected_lubricants),
        no_dye=circuit.no_dye,
        dedicated_hoses=circuit.dedicated_hoses,
        maker_source=circuit.maker_source,
    )


def person_facts(actor: Actor, today: date) -> PersonFacts:
    """Return which competences of a person are in date."""
    kinds = set(competences_in_date(user_ids=[actor.user_id or 0], on=today).values_list("kind", flat=True))
    return PersonFacts(
        name=actor.name,
        refrigerant_competence=CompetenceKind.REFRIGERANT in kinds,
        high_voltage_competence=CompetenceKind.HIGH_VOLTAGE in kinds,
    )


def connected_to(circuit: Circuit) -> list[int]:
    """Return the pieces that are on a circuit now."""
    rows = Connection.objects.filter(circuit_id=circuit.pk, disconnected_at__isnull=True)
    return list(rows.order_by("piece_id").values_list("piece_id", flat=True))


def holders(piece_ids: Iterable[int]) -> dict[int, str]:
    """Return which job has each piece that is on a vehicle now."""
    rows = Connection.objects.filter(piece_id__in=list(piece_ids), disconnected_at__isnull=True)
    return dict(rows.values_list("piece_id", "job_number"))


def piece_facts(pieces: Sequence[Piece], *, job_number: str = "") -> tuple[PieceFacts, ...]:
    """Return pieces as the rules see them, in the given order, with three queries however many they are.

    Those loaded without their state cost one query more. A piece that is already on ``job_number`` does
    not count as busy.
    """
    ids = [piece.pk for piece in pieces]
    prefetch_related_objects(pieces, "state")
    busy = {piece_id: job for piece_id, job in holders(ids).items() if job != job_number}
    return _with_papers([_facts(piece, piece.state.condition(), busy.get(piece.pk, "")) for piece in pieces])


def instrument_facts(pieces: Sequence[Piece]) -> tuple[PieceFacts, ...]:
    """Return instruments, loaded with their state, as the rules see them: no vehicle ever holds them."""
    return _with_papers([_facts(piece, piece.state.condition(), "") for piece in pieces])


def _with_papers(found: Sequence[PieceFacts]) -> tuple[PieceFacts, ...]:
    """Return pieces with their documents and plans, with two queries however many they are."""
    ids = [facts.id for facts in found]
    documents: dict[int, list[DocumentFacts]] = {piece_id: [] for piece_id in ids}
    for row in _documents(ids):
        documents[row[0]].append(row[1])
    plans = maintenance_facts(ids)
    return tuple(
        replace(facts, documents=tuple(documents[facts.id]), maintenance=plans.get(facts.id, ()))
        for facts in found
    )


def _documents(piece_ids: Sequence[int]) -> list[tuple[int, DocumentFacts]]:
    rows = PieceDocument.objects.filter(piece_id__in=piece_ids).order_by("piece_id", "pk")
    return [
        (
            row.piece_id,
            DocumentFacts(
                kind=DocumentKind(row.kind),
                number=row.number,
                refrigerants=frozenset(row.refrigerants),
                lubricants=frozenset(row.lubricants),
                covers_high_voltage=row.covers_high_voltage,
                valid_until=row.valid_until,
            ),
        )
        for row in rows
    ]


def _facts(piece: Piece, condition: Condition, busy_on: str) -> PieceFacts:
    return PieceFacts(
        id=piece.pk,
        code=piece.code,
        name=piece.name,
        kind=PieceKind(piece.kind),
        residue=condition.residue,
        refrigerant=piece.refrigerant,
        lubricant=piece.lubricant,
        lubricant_grade=piece.lubricant_grade,
        dedicated_to=piece.dedicated_to,
        in_service=condition.in_service,
        out_of_service_reason=condition.out_of_service_reason,
        busy_on=busy_on,
        can_inject_oil=piece.can_inject_oil,
        can_inject_dye=piece.can_inject_dye,
        is_marked_for_contaminated=piece.is_marked_for_contaminated,
    )


def purge_method(shop: Shop) -> PurgeMethod:
    """Return what a line purge must show in this workshop today."""
    return replace(
        LINE_PURGE,
        minimum_circulated_kg=shop.purge_minimum_kg,
        minimum_duration_s=shop.purge_minimum_s,
        maximum_final_vacuum_pa=shop.purge_maximum_vacuum_pa,
        source=f"shop policy: {shop.purge_note}" if shop.purge_note else LINE_PURGE.source,
    )


def hose_measures(piece: Piece) -> HoseMeasures:
    """Return what a row says about its hoses."""
    return HoseMeasures(piece.bore_m, piece.length_m, piece.line_count, piece.content_m3)


def weighing(piece: Piece) -> Weighing:
    """Return what a row says about its scale; ``allows_for`` should be loaded with many rows."""
    hoses = piece.allows_for
    return Weighing(
        piece.scale_tolerance_kg, piece.hose_allowance, piece.allows_for_id, hoses.code if hoses else ""
    )


#: What the fold looks at.
EVENT_COLUMNS = (
    "kind",
    "occurred_at",
    "sequence",
    "lubricants",
    "refrigerants",
    "additives",
    "unknown",
    "verified",
    "corrects__sequence",
    "note",
)


def event_of(exposure: Exposure, corrected_sequence: int | None) -> ExposureEvent:
    """Return a row of the log as the fold sees it."""
    return ExposureEvent(
        kind=ExposureKind(exposure.kind),
        occurred_at=exposure.occurred_at,
        sequence=exposure.sequence,
        residue=Residue(
            lubricants=frozenset(exposure.lubricants),
            refrigerants=frozenset(exposure.refrigerants),
            additives=frozenset(exposure.additives),
            unknown=exposure.unknown,
        ),
        verified=exposure.verified,
        corrects=corrected_sequence,
        reason=exposure.note,
    )


def exposures_of(piece_id: int) -> QuerySet[Exposure]:
    """Return the life of a piece in the order in which it happened."""
    return (
        Exposure.objects.filter(piece_id=piece_id)
        .select_related("corrects", "circuit__vehicle", "purge")
        .order_by("occurred_at", "sequence")
    )


def events_of(piece_id: int) -> list[ExposureEvent]:
    """Return the life of a piece as the fold sees it."""
    rows = Exposure.objects.filter(piece_id=piece_id).select_related("corrects").only(*EVENT_COLUMNS)
    events = [event_of(row, row.corrects.sequence if row.corrects else None) for row in rows]
    return sorted(events, key=lambda event: (event.occurred_at, event.sequence))


def condition_as_of(piece_id: int, moment: datetime) -> Condition:
    """Return the condition of a piece at a past moment, from everything known now."""
    return fold(event for event in events_of(piece_id) if event.occurred_at <= moment)


def connections_on_job(job_number: str) -> QuerySet[Connection]:
    """Return every connection of a job, oldest first."""
    return (
        Connection.objects.filter(job_number=job_number)
        .select_related("piece__state", "connected_by", "disconnected_by")
        .order_by("connected_at", "pk")
    )


def purges_due(job_number: str) -> list[Piece]:
    """Return the pieces that still need a closing purge for this job, by code.

    A piece that was on the job's vehicle and isn't dedicated is due until a verified purge after its last
    disconnection; a dedicated piece, and one that no purge can clear, is never due.
    """
    rows = (
        Connection.objects.filter(job_number=job_number)
        .select_related("piece__state")
        .order_by("connected_at", "pk")
    )
    return due_for_purge(rows)


def due_for_purge(connections: Iterable[Connection]) -> list[Piece]:
    """Return the pieces of one job's connections, oldest first, that still need a closing purge."""
    last = {row.piece_id: row for row in connections}
    return sorted((row.piece for row in last.values() if _purge_due(row)), key=lambda piece: piece.code)


def _purge_due(connection: Connection) -> bool:
    piece = connection.piece
    if piece.dedicated_to or not PieceKind(piece.kind).can_be_purged:
        return False
    if connection.disconnected_at is None:
        return True
    purged_at = piece.state.last_purge_at
    return purged_at is None or purged_at < connection.disconnected_at


def clearances_on_job(job_number: str) -> QuerySet[Clearance]:
    """Return every decision of a job, refusals and overrides included, oldest first."""
    return Clearance.objects.filter(job_number=job_number).order_by("sequence")
