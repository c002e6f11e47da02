"""Clearance and connection: lock the pieces, decide, record, connect – in one transaction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import uuid4

from django.db import transaction
from django.utils.translation import gettext as _

from equipment.choices import ExposureKind, Verdict
from equipment.errors import NotWetted, PieceBusy, UnknownPiece
from equipment.exposure import Residue
from equipment.lives import Lives, holds_for_good
from equipment.maintenance.use import job_count
from equipment.models import Clearance, Connection, Piece, PieceState
from equipment.policies import may_connect, may_override, may_see_equipment
from equipment.readiness import ClearanceRequest, Decision, Identification, VisitFacts, decide
from equipment.readiness.requests import request_as_record
from equipment.selectors import (
    circuit_facts,
    connected_to,
    person_facts,
    piece_facts,
    today_at,
)
from equipment.services.incidents import override_follow_up
from equipment.services.log import Entry, lock_pieces, write_entry
from shopcool.core.actors import SYSTEM, Actor
from shopcool.core.errors import Conflict, require, require_person
from shopcool.core.records import append
from shopcool.shop.selectors import shop_get
from shopcool.vehicles.models import Circuit

NOT_LOCKED: Mapping[int, PieceState] = {}


@dataclass(frozen=True)
class ConnectionOutcome:
    """The recorded decision, what it said, and the connections it brought about (none when refused)."""

    clearance: Clearance
    decision: Decision
    connections: tuple[Connection, ...] = ()

    @property
    def connected(self) -> bool:
        """Whether the pieces are on the vehicle now."""
        return bool(self.connections)


def clearance_check(
    *, actor: Actor, circuit: Circuit, piece_ids: Sequence[int], visit: VisitFacts, now: datetime
) -> Decision:
    """Decide without connecting and without recording: what would be said now."""
    require(may_see_equipment(actor))
    return decide(_request(actor, circuit, piece_ids, visit, now))


@transaction.atomic
def pieces_connect(
    *,
    actor: Actor,
    circuit: Circuit,
    piece_ids: Sequence[int],
    visit: VisitFacts,
    now: datetime,
    override_reason: str = "",
) -> ConnectionOutcome:
    """Decide whether the pieces may be connected, record the decision, and connect them if so.

    A refusal is recorded and returned, not raised. With ``override_reason`` an owner connects against a
    refusal; the reason follows the job everywhere. Raises NotAllowed, UnknownPiece, and PieceBusy when a
    piece is on a vehicle already: no reason can put it on two.
    """
    require(may_connect(actor))
    if override_reason:
        require(may_override(actor), _("Only the owner may connect against a refusal."))
    aboard = connected_to(circuit)
    states = lock_pieces([*piece_ids, *aboard], now)
    circuit = Circuit.objects.select_for_update(of=("self",)).select_related("vehicle").get(pk=circuit.pk)
    request = _request(actor, circuit, piece_ids, visit, now, states)
    decision = decide(request)
    _refuse_busy(request)
    if connected_to(circuit) != aboard:
        raise Conflict(_("A colleague connected something to this vehicle a moment ago. Look again."))
    overrides = bool(override_reason.strip()) and not decision.permitted
    clearance = _record(actor, circuit, request, decision, override_reason if overrides else "", now)
    if not decision.permitted and not overrides:
        return ConnectionOutcome(clearance, decision)
    connections = _connect(actor, circuit, request, clearance, states, now)
    return ConnectionOutcome(clearance, decision, connections)


@transaction.atomic
def pieces_disconnect(
    *, actor: Actor, job_number: str, now: datetime, piece_ids: Sequence[int] | None = None
) -> tuple[Connection, ...]:
    """Take pieces, all of the job's when none are named, off the vehicle; free ones stay as they are."""
    require(may_connect(actor))
    rows = Connection.objects.filter(job_number=job_number, disconnected_at__isnull=True)
    if piece_ids is not None:
        rows = rows.filter(piece_id__in=piece_ids)
    states = lock_pieces(rows.values_list("piece_id", flat=True), now)
    action = uuid4()
    ended = []
    for row in rows.select_for_update(of=("self",)).select_related("circuit").order_by("piece_id"):
        row.disconnected_at = now
        row.disconnected_by_id = actor.user_id
        row.save(update_fields=["disconnected_at", "disconnected_by"])
        entry = Entry(
            piece_id=row.piece_id,
            kind=ExposureKind.DISCONNECTED,
            occurred_at=now,
            circuit=row.circuit,
            job_number=job_number,
            action=action,
        )
        write_entry(entry, states[row.piece_id], actor=actor, now=now)
        ended.append(row)
    return tuple(ended)


def _request(
    actor: Actor,
    circuit: Circuit,
    piece_ids: Sequence[int],
    visit: VisitFacts,
    now: datetime,
    states: Mapping[int, PieceState] = NOT_LOCKED,
) -> ClearanceRequest:
    today = today_at(shop_get(), now)
    found = Piece.objects.filter(retired_at__isnull=True).in_bulk(list(piece_ids))
    missing = [piece_id for piece_id in piece_ids if piece_id not in found]
    if missing:
        raise UnknownPiece(_("One of the pieces does not exist or is no longer in use."), field="pieces")
    for piece_id in states.keys() & found.keys():
        found[piece_id].state = states[piece_id]
    pieces = sorted(found.values(), key=lambda piece: piece.code)
    _refuse_instruments(pieces)
    return ClearanceRequest(
        circuit=circuit_facts(circuit),
        pieces=piece_facts(pieces),
        person=person_facts(actor, today),
        visit=visit,
        today=today,
    )


def _refuse_instruments(pieces: Sequence[Piece]) -> None:
    named = [piece.code for piece in pieces if not piece.is_wetted]
    if named:
        raise NotWetted(
            _("%(pieces)s: an instrument or protection is used beside the circuit, never connected to it.")
            % {"pieces": ", ".join(named)},
            field="pieces",
        )


def _refuse_busy(request: ClearanceRequest) -> None:
    busy = [piece for piece in request.pieces if piece.busy_on]
    if not busy:
        return
    listed = ", ".join(
        _("%(piece)s is on job %(job)s") % {"piece": piece.code, "job": piece.busy_on} for piece in busy
    )
    raise PieceBusy(_("%(list)s. A piece is on one vehicle at a time.") % {"list": listed}, field="pieces")


def _record(
    actor: Actor,
    circuit: Circuit,
    request: ClearanceRequest,
    decision: Decision,
    override_reason: str,
    now: datetime,
) -> Clearance:
    verdict = Verdict.PERMITTED if decision.permitted else Verdict.REFUSED
    if override_reason:
        verdict = Verdict.OVERRIDDEN
    return append(
        Clearance(
            circuit=circuit,
            job_number=request.visit.job_number,
            piece_ids=[piece.id for piece in request.pieces],
            verdict=verdict,
            reasons=[reason.as_record() for reason in decision.reasons],
            request=request_as_record(request),
            override_reason=override_reason.strip(),
            rules_version=decision.rules_version,
            occurred_at=now,
        ),
        stream=f"clearance:job:{request.visit.job_number}",
        actor=actor,
        now=now,
    )


def _connect(
    actor: Actor,
    circuit: Circuit,
    request: ClearanceRequest,
    clearance: Clearance,
    states: dict[int, PieceState],
    now: datetime,
) -> tuple[Connection, ...]:
    residue = _shared_residue(circuit, request, clearance)
    new = {piece.id for piece in request.pieces}
    aboard = {piece_id: state for piece_id, state in states.items() if piece_id not in new}
    for state in aboard.values():
        residue = residue.joined(state.condition().residue)
    _share(circuit, request, clearance, residue, aboard, now)
    job_count([piece.id for piece in request.pieces], clearance.job_number, now)
    action = uuid4()
    connections = []
    for piece in request.pieces:
        connections.append(
            Connection.objects.create(
                piece_id=piece.id,
                circuit=circuit,
                job_number=clearance.job_number,
                clearance=clearance,
                connected_at=now,
                connected_by_id=require_person(actor, _("Only a person connects a piece to a vehicle.")),
            )
        )
        entry = Entry(
            piece_id=piece.id,
            kind=ExposureKind.CONNECTED,
            occurred_at=now,
            residue=residue,
            circuit=circuit,
            job_number=clearance.job_number,
            action=action,
        )
        write_entry(entry, states[piece.id], actor=actor, now=now)
    return tuple(connections)


def _share(
    circuit: Circuit,
    request: ClearanceRequest,
    clearance: Clearance,
    residue: Residue,
    aboard: dict[int, PieceState],
    now: datetime,
) -> None:
    """Note in the log of what is on the vehicle already which residue the new pieces bring along."""
    note = _("Shared the circuit with %(pieces)s, connected later.") % {
        "pieces": ", ".join(piece.code for piece in request.pieces)
    }
    lives = Lives()
    for piece_id, state in sorted(aboard.items()):
        if holds_for_good(lives.of(piece_id), residue):
            continue
        entry = Entry(
            piece_id=piece_id,
            kind=ExposureKind.CONTACT_DECLARED,
            occurred_at=now,
            residue=residue,
            circuit=circuit,
            job_number=clearance.job_number,
            note=note,
        )
        write_entry(entry, state, actor=SYSTEM, now=now)


def _shared_residue(circuit: Circuit, request: ClearanceRequest, clearance: Clearance) -> Residue:
    """Return what every piece takes along: what shares a circuit shares its residue.

    After an override the pieces may have brought harm into a high-voltage circuit; that is followed up.
    """
    residue = request.circuit.residue.joined(Residue(additives=request.visit.additives))
    if request.visit.identification in {Identification.FAILED, Identification.NOT_ANALYSABLE}:
        residue = residue.joined(Residue(unknown=True))
    brought = Residue()
    for piece in request.pieces:
        brought = brought.joined(piece.residue)
    if circuit.is_high_voltage and brought.blocks_high_voltage:
        override_follow_up(circuit, clearance, brought)
    return residue.joined(brought)
