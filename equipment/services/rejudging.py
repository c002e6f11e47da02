"""Late entries are honest: what came after is judged again, and a wrong connection raises an incident.

What shares a circuit, or a purge that did not count, shares its residue. So a late entry is carried on to
every piece it could have reached by then, and each of those is judged again in turn.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from equipment.choices import ExposureKind, Verdict
from equipment.exposure import Condition, Residue
from equipment.incidents import Incident
from equipment.lives import Lives, condition_of, holds_for_good
from equipment.models import Clearance, Connection, Exposure, PieceState, Purge
from equipment.purging import PurgeMethod, PurgeReadings, judge_purge
from equipment.readiness import ClearanceRequest, PieceFacts, decide
from equipment.readiness.requests import request_from_record
from equipment.services.incidents import late_entry_incident
from equipment.services.log import Entry, write_entry
from shopcool.core.actors import SYSTEM
from shopcool.vehicles.models import Circuit


@dataclass(frozen=True)
class Rejudging:
    """What one late entry sets in motion: its row, the locked states of all pieces, the time of recording."""

    cause: Exposure
    states: dict[int, PieceState]
    now: datetime
    lives: Lives
    circuits: dict[int, Circuit] = field(default_factory=dict)

    @property
    def told_of(self) -> str:
        """The code of the piece that the late entry tells of."""
        return self.states[self.cause.piece_id].piece.code

    def circuit_of(self, row: Clearance | Connection) -> Circuit:
        """Return the circuit of a row; one object of each, so that what follows sees a suspicion raised."""
        if row.circuit_id not in self.circuits:
            self.circuits[row.circuit_id] = row.circuit
        return self.circuits[row.circuit_id]

    def write(self, entry: Entry) -> None:
        """Write an entry that follows from the late one."""
        state = self.states[entry.piece_id]
        write_entry(entry, state, actor=SYSTEM, now=self.now, lives=self.lives)

    def condition_at(self, piece_id: int, moment: datetime) -> Condition:
        """Return the condition of a piece after everything that happened until a moment."""
        return condition_of(told for told in self.lives.of(piece_id) if told.event.occurred_at <= moment)

    def condition_before(self, piece_id: int, moment: datetime) -> Condition:
        """Return the condition of a piece just before a moment."""
        return condition_of(told for told in self.lives.of(piece_id) if told.event.occurred_at < moment)

    def tells_late_of(self, piece_id: int, moment: datetime) -> bool:
        """Whether the entry itself, not one it was carried to, tells of that moment afterwards."""
        return (self.cause.piece_id, self.cause.occurred_at) == (piece_id, moment) and moment < self.now


def judge_again(rejudging: Rejudging, piece_id: int, since: datetime) -> list[Incident]:
    """Judge again every purge and clearance that a piece took part in since then; return new incidents."""
    incidents = _carry_from_vehicle(rejudging, piece_id, since)
    for purge in Purge.objects.filter(piece_ids__contains=[piece_id], occurred_at__gte=since).order_by(
        "occurred_at", "pk"
    ):
        incidents.extend(_judge_purge(rejudging, purge, piece_id))
    clearances = Clearance.objects.filter(
        piece_ids__contains=[piece_id],
        occurred_at__gte=since,
        verdict__in=[Verdict.PERMITTED, Verdict.OVERRIDDEN],
    ).order_by("occurred_at", "pk")
    for clearance in clearances:
        clearance.circuit = rejudging.circuit_of(clearance)
        incidents.extend(_judge_clearance(rejudging, clearance, piece_id))
    return incidents


# --- clearances ------------------------------------------------------------------------------------


def _condition_decided(rejudging: Rejudging, clearance: Clearance, piece_id: int) -> Condition:
    """Return the condition a decision should have seen, without what the decision itself brought about."""
    own = clearance.job_number, clearance.occurred_at
    return condition_of(
        told
        for told in rejudging.lives.of(piece_id)
        if told.event.occurred_at <= clearance.occurred_at
        and (told.job_number, told.event.occurred_at) != own
    )


def _judge_clearance(rejudging: Rejudging, clearance: Clearance, piece_id: int) -> list[Incident]:
    condition = _condition_decided(rejudging, clearance, piece_id)
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
    for own in clearance.connections.filter(piece_id=piece_id):
        incidents.extend(_carry_to_others(rejudging, own, clearance.occurred_at, condition.residue))
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


def take_from_others(rejudging: Rejudging, piece_id: int, since: datetime) -> list[Incident]:
    """Carry to a piece, whose past a late purge made cleaner, what it shared on vehicles after that purge."""
    incidents: list[Incident] = []
    rows = _still_on(Connection.objects.filter(piece_id=piece_id), since)
    for own in rows.order_by("connected_at"):
        for other in _shared_with(rejudging, own, own.connected_at):
            since_both = max(own.connected_at, other.connected_at)
            for moment, residue in _residues_while_on(rejudging, other, since_both):
                if own.disconnected_at is None or moment < own.disconnected_at:
                    incidents.extend(_share(rejudging, own, moment, residue))
    return incidents


def _residues_while_on(
    rejudging: Rejudging, connection: Connection, since: datetime
) -> Iterator[tuple[datetime, Residue]]:
    """Yield what was in a connected piece at a moment, and after each of its entries until it was off."""
    piece_id, ended = connection.piece_id, connection.disconnected_at
    later = {event.occurred_at for event in rejudging.lives.events(piece_id) if event.occurred_at > since}
    for moment in (since, *sorted(later)):
        if ended is None or moment < ended:
            yield moment, rejudging.condition_at(piece_id, moment).residue


def _carry_from_vehicle(rejudging: Rejudging, piece_id: int, since: datetime) -> list[Incident]:
    """Carry on what came into a piece while it was on a vehicle already; a late one raises an incident."""
    incidents: list[Incident] = []
    rows = _still_on(Connection.objects.filter(piece_id=piece_id, connected_at__lt=since), since)
    for own in rows.select_related("clearance"):
        circuit = own.clearance.circuit = rejudging.circuit_of(own)
        before = rejudging.condition_before(piece_id, since)
        condition = rejudging.condition_at(piece_id, since)
        turned = condition.residue.blocks_high_voltage and not before.residue.blocks_high_voltage
        if turned and circuit.is_high_voltage and rejudging.tells_late_of(piece_id, since):
            request = _with_condition(request_from_record(own.clearance.request), piece_id, condition)
            incident, is_new = late_entry_incident(
                cause=rejudging.cause,
                clearance=own.clearance,
                reasons=decide(request).refusals,
                residue=condition.residue,
                now=rejudging.now,
            )
            incidents += [incident] if is_new else []
        incidents.extend(_carry_to_others(rejudging, own, since, condition.residue))
    return incidents


def _still_on(rows: QuerySet[Connection], moment: datetime) -> QuerySet[Connection]:
    return rows.filter(Q(disconnected_at__isnull=True) | Q(disconnected_at__gt=moment))


def _carry_to_others(
    rejudging: Rejudging, own: Connection, since: datetime, residue: Residue
) -> list[Incident]:
    """Carry a residue to what was on the circuit together with a piece, or later on a suspected circuit."""
    incidents: list[Incident] = []
    for other in _shared_with(rejudging, own, since):
        incidents.extend(_share(rejudging, other, max(since, other.connected_at), residue))
    return incidents


def _shared_with(rejudging: Rejudging, own: Connection, since: datetime) -> QuerySet[Connection]:
    """Return what was on the circuit together with a piece since then, or later on a suspected circuit."""
    rows = _still_on(Connection.objects.filter(circuit_id=own.circuit_id), since).exclude(pk=own.pk)
    if own.disconnected_at is not None and not rejudging.circuit_of(own).suspected_lubricants:
        rows = rows.filter(connected_at__lt=own.disconnected_at)
    return rows.order_by("connected_at", "piece_id")


def _share(rejudging: Rejudging, reached: Connection, moment: datetime, residue: Residue) -> list[Incident]:
    entry = Entry(
        piece_id=reached.piece_id,
        kind=ExposureKind.CONTACT_DECLARED,
        occurred_at=moment,
        residue=residue,
        circuit=rejudging.circuit_of(reached),
        job_number=reached.job_number,
        note=_("Shared the circuit with %(piece)s, as a later entry showed.") % {"piece": rejudging.told_of},
    )
    return _carry_entry(rejudging, entry)


def _carry_entry(rejudging: Rejudging, entry: Entry) -> list[Incident]:
    """Write a carried contact, unless the piece held all of it at that time, whatever is withdrawn later."""
    life = rejudging.lives.of(entry.piece_id)
    if holds_for_good((told for told in life if told.event.occurred_at <= entry.occurred_at), entry.residue):
        return []
    rejudging.write(entry)
    return judge_again(rejudging, entry.piece_id, entry.occurred_at)


# --- purges -----------------------------------------------------------------------------------------


def _judge_purge(rejudging: Rejudging, purge: Purge, piece_id: int) -> list[Incident]:
    residue = rejudging.condition_before(piece_id, purge.occurred_at).residue
    if not _still_counts(rejudging, purge, piece_id):
        return _carry_through_loop(rejudging, purge, piece_id, residue)
    if purge.machine_id == piece_id and judge_purge(PurgeMethod(**purge.method), readings_of(purge), residue):
        return _refute(rejudging, purge, residue)
    return []


def _still_counts(rejudging: Rejudging, purge: Purge, piece_id: int) -> bool:
    life = rejudging.lives.events(piece_id)
    corrected = {event.corrects for event in life}
    return any(
        told.purge_id == purge.pk and told.event.verified and told.event.sequence not in corrected
        for told in rejudging.lives.of(piece_id)
    )


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
            % {"piece": rejudging.told_of},
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
        rejudging.write(entry)
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
