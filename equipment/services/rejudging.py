"""Late entries are honest: what came after is judged again, and a wrong connection raises an incident.

What shares a circuit, or a purge that did not count, shares its residue. So a late entry is carried on to
every piece it could have reached by then, and each of those is judged again in turn.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from django.utils.translation import gettext as _

from equipment.choices import ExposureKind, Verdict
from equipment.exposure import Condition, ExposureEvent, Residue, fold
from equipment.models import Clearance, Exposure, Incident, PieceState, Purge
from equipment.purging import PurgeMethod, PurgeReadings, judge_purge
from equipment.readiness import ClearanceRequest, PieceFacts, decide
from equipment.readiness.requests import request_from_record
from equipment.selectors import events_of
from equipment.services.incidents import late_entry_incident
from equipment.services.log import Entry, write_entry
from shopcool.core.actors import SYSTEM


@dataclass(frozen=True)
class Rejudging:
    """What one late entry sets in motion: its row, the locked states of all pieces, the time of recording."""

    cause: Exposure
    states: dict[int, PieceState]
    now: datetime


def judge_again(rejudging: Rejudging, piece_id: int, since: datetime) -> list[Incident]:
    """Judge again every purge and clearance that a piece took part in since then; return new incidents."""
    incidents: list[Incident] = []
    for purge in Purge.objects.filter(piece_ids__contains=[piece_id], occurred_at__gte=since).order_by(
        "occurred_at", "pk"
    ):
        incidents.extend(_judge_purge(rejudging, purge, piece_id))
    clearances = Clearance.objects.filter(
        piece_ids__contains=[piece_id],
        occurred_at__gte=since,
        verdict__in=[Verdict.PERMITTED, Verdict.OVERRIDDEN],
    ).order_by("occurred_at", "pk")
    for clearance in clearances.select_related("circuit"):
        incidents.extend(_judge_clearance(rejudging, clearance, piece_id))
    return incidents


# --- clearances ------------------------------------------------------------------------------------


def condition_before(clearance: Clearance, piece_id: int) -> Condition:
    """Return the condition a decision should have seen, without what the decision itself brought about."""
    own = Exposure.objects.filter(
        piece_id=piece_id, job_number=clearance.job_number, occurred_at=clearance.occurred_at
    )
    sequences = set(own.values_list("sequence", flat=True))
    return fold(
        event
        for event in events_of(piece_id)
        if event.occurred_at <= clearance.occurred_at and event.sequence not in sequences
    )


def _judge_clearance(rejudging: Rejudging, clearance: Clearance, piece_id: int) -> list[Incident]:
    condition = condition_before(clearance, piece_id)
    request = _with_condition(request_from_record(clearance.request), piece_id, condition)
    known = {(reason["code"], reason["piece_id"]) for reason in clearance.reasons}
    news = [reason for reason in decide(request).refusals if (reason.code, reason.piece_id) not in known]
    incidents: list[Incident] = []
    if news:
        incident, is_new = late_entry_incident(
            cause=rejudging.cause,
            clearance=clearance,
            reasons=news,
            residue=condition.residue,
            now=rejudging.now,
        )
        incidents += [incident] if is_new else []
    for reached in _reached(clearance):
        for other_id in sorted(set(reached.piece_ids) - {piece_id}):
            incidents.extend(_carry(rejudging, reached, other_id, condition.residue))
    return incidents


def _with_condition(request: ClearanceRequest, piece_id: int, condition: Condition) -> ClearanceRequest:
    def corrected(piece: PieceFacts) -> PieceFacts:
        if piece.id != piece_id:
            return piece
        return replace(
            piece,
            residue=condition.residue,
            in_service=condition.in_service,
            out_of_service_reason=condition.out_of_service_reason,
        )

    return replace(request, pieces=tuple(corrected(piece) for piece in request.pieces))


def _reached(clearance: Clearance) -> Iterable[Clearance]:
    """Return the connections that shared the residue: this one, and later ones on a suspected circuit."""
    if not clearance.circuit.suspected_lubricants:
        return [clearance]
    return (
        Clearance.objects.filter(
            circuit_id=clearance.circuit_id,
            occurred_at__gte=clearance.occurred_at,
            verdict__in=[Verdict.PERMITTED, Verdict.OVERRIDDEN],
        )
        .select_related("circuit")
        .order_by("occurred_at", "pk")
    )


def _carry(rejudging: Rejudging, clearance: Clearance, piece_id: int, residue: Residue) -> list[Incident]:
    entry = Entry(
        piece_id=piece_id,
        kind=ExposureKind.CONTACT_DECLARED,
        occurred_at=clearance.occurred_at,
        residue=residue,
        circuit=clearance.circuit,
        job_number=clearance.job_number,
        note=_("Shared the circuit with %(piece)s, as a late entry showed.")
        % {"piece": rejudging.cause.piece.code},
    )
    return _carry_entry(rejudging, entry)


def _carry_entry(rejudging: Rejudging, entry: Entry) -> list[Incident]:
    """Write a carried contact, unless the piece is known to have held all of it at that time already."""
    at_the_time: list[ExposureEvent] = [
        event for event in events_of(entry.piece_id) if event.occurred_at <= entry.occurred_at
    ]
    known = fold(at_the_time).residue
    if known.joined(entry.residue) == known:
        return []
    write_entry(entry, rejudging.states[entry.piece_id], actor=SYSTEM, now=rejudging.now)
    return judge_again(rejudging, entry.piece_id, entry.occurred_at)


# --- purges -----------------------------------------------------------------------------------------


def _judge_purge(rejudging: Rejudging, purge: Purge, piece_id: int) -> list[Incident]:
    residue = fold(event for event in events_of(piece_id) if event.occurred_at < purge.occurred_at).residue
    still_verified = Exposure.objects.filter(
        purge=purge, piece_id=piece_id, verified=True, corrected_by__isnull=True
    ).exists()
    if not still_verified:
        return _carry_through_loop(rejudging, purge, piece_id, residue)
    if purge.machine_id == piece_id and judge_purge(PurgeMethod(**purge.method), readings_of(purge), residue):
        return _refute(rejudging, purge, residue)
    return []


def _carry_through_loop(
    rejudging: Rejudging, purge: Purge, piece_id: int, residue: Residue
) -> list[Incident]:
    incidents: list[Incident] = []
    for other_id in sorted(set(purge.piece_ids) - {piece_id}):
        entry = Entry(
            piece_id=other_id,
            kind=ExposureKind.CONTACT_DECLARED,
            occurred_at=purge.occurred_at,
            residue=residue,
            note=_("Stood in a purge loop that did not count, with %(piece)s.")
            % {"piece": rejudging.cause.piece.code},
        )
        incidents.extend(_carry_entry(rejudging, entry))
    return incidents


def _refute(rejudging: Rejudging, purge: Purge, residue: Residue) -> list[Incident]:
    """Correct a purge that the machine, as now known, could not have done: it cleared nothing."""
    incidents: list[Incident] = []
    standing = purge.exposures.filter(corrected_by__isnull=True, verified=True)
    for exposure in standing.order_by("piece_id"):
        entry = Entry(
            piece_id=exposure.piece_id,
            kind=ExposureKind.PURGED,
            occurred_at=exposure.occurred_at,
            residue=residue,
            purge=purge,
            verified=False,
            job_number=exposure.job_number,
            corrects=exposure,
            note=_("The purge could not clear the loop, as a late entry showed."),
        )
        write_entry(entry, rejudging.states[exposure.piece_id], actor=SYSTEM, now=rejudging.now)
    for other_id in sorted(set(purge.piece_ids) - {purge.machine_id}):
        incidents.extend(judge_again(rejudging, other_id, purge.occurred_at))
    return incidents


def readings_of(purge: Purge) -> PurgeReadings:
    """Return what was read at a recorded purge."""
    return PurgeReadings(
        circulated_kg=purge.circulated_kg,
        duration_s=purge.duration_s,
        final_vacuum_pa=purge.final_vacuum_pa,
        completed=purge.completed,
    )
