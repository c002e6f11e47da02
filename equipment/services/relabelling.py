"""Label data that change while pieces are on the vehicle: the connection is judged again at once.

The label is the truth, so the change is never refused. What hangs on the circuit has touched what the label
now says, and a connection that would have been refused raises an incident.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from django.utils.translation import gettext as _

from equipment.choices import ExposureKind
from equipment.exposure import Residue
from equipment.lives import Lives, holds_for_good
from equipment.models import Clearance, Connection, Exposure, PieceState
from equipment.readiness import CircuitFacts, ClearanceRequest, Reason, Severity, decide
from equipment.readiness.requests import request_from_record
from equipment.selectors import circuit_facts
from equipment.services.incidents import label_incident
from equipment.services.log import Entry, lock_pieces, write_entry
from shopcool.core.actors import SYSTEM, Actor
from shopcool.vehicles.models import Circuit


def circuit_changed(actor: Actor, circuit: Circuit, now: datetime) -> None:
    """Judge everything that is on the circuit again with its new data."""
    rows = list(
        Connection.objects.filter(circuit=circuit, disconnected_at__isnull=True)
        .select_related("clearance__circuit__vehicle", "circuit")
        .order_by("piece_id")
    )
    states = lock_pieces([row.piece_id for row in rows], now)
    facts = circuit_facts(circuit)
    for clearance in {row.clearance_id: row.clearance for row in rows}.values():
        mine = [row for row in rows if row.clearance_id == clearance.pk]
        _judge(actor, clearance, mine, facts, states, now)


def _judge(
    actor: Actor,
    clearance: Clearance,
    rows: Sequence[Connection],
    facts: CircuitFacts,
    states: dict[int, PieceState],
    now: datetime,
) -> None:
    request = request_from_record(clearance.request)
    if request.circuit == facts:
        return
    brought = Residue()
    for piece in request.pieces:
        brought = brought.joined(piece.residue)
    shared = facts.residue.joined(brought)
    lives = Lives()
    entries = [
        _touch(actor, row, shared, states[row.piece_id], now)
        for row in rows
        if not holds_for_good(lives.of(row.piece_id), shared)
    ]
    news = _news(replace(request, circuit=facts), clearance)
    if news:
        cause = entries[0] if entries else None
        label_incident(cause=cause, clearance=clearance, reasons=news, brought=brought, now=now)


def _news(request: ClearanceRequest, clearance: Clearance) -> list[Reason]:
    """Return the refusals that neither the clearance nor an earlier incident of it has told."""
    told = [*clearance.reasons]
    for incident in clearance.incidents.all():
        told += incident.reasons
    refused = {
        (reason["code"], reason["piece_id"]) for reason in told if reason["severity"] == Severity.REFUSAL
    }
    return [reason for reason in decide(request).refusals if (reason.code, reason.piece_id) not in refused]


def _touch(actor: Actor, row: Connection, residue: Residue, state: PieceState, now: datetime) -> Exposure:
    """Note that a piece has touched what the label now says; as with every carried contact no one said so."""
    entry = Entry(
        piece_id=row.piece_id,
        kind=ExposureKind.CONTACT_DECLARED,
        occurred_at=now,
        residue=residue,
        circuit=row.circuit,
        job_number=row.job_number,
        note=_("%(name)s changed the label data while it was on the vehicle.") % {"name": actor.name},
    )
    return write_entry(entry, state, actor=SYSTEM, now=now)
