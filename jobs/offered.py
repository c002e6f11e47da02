"""The pieces that a clearance panel offers for a job, and what each alone would be told."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import IntEnum

from equipment.choices import PieceKind
from equipment.models import Connection, Piece
from equipment.readiness import (
    CircuitFacts,
    ClearanceRequest,
    Decision,
    Identification,
    PersonFacts,
    PieceFacts,
    VisitFacts,
    decide,
)
from equipment.selectors import circuit_facts, piece_facts, wetted_visible_to
from equipment.uses import purge_clears_for
from jobs.models import Job
from shopcool.core.actors import Actor
from shopcool.vehicles.choices import Drive

#: Refusals that a line purge of the piece clears, if the piece can be purged at all.
CLEARED_BY_PURGE = frozenset(
    {"conductive_residue", "unknown_residue", "other_oil_residue", "refrigerant_residue", "dye_residue"}
)


class Fit(IntEnum):
    """How a piece stands to a car, the best first."""

    NOW = 1
    AFTER_PURGE = 2
    NOT = 3


@dataclass(frozen=True)
class Offered:
    """One piece with its condition and what would be said if it were connected alone."""

    piece: Piece
    facts: PieceFacts
    decision: Decision
    fit: Fit


def pieces_offered(
    *,
    actor: Actor,
    job: Job,
    on_car: Iterable[int],
    identification: Identification,
    today: date,
) -> tuple[Offered, ...]:
    """Return every piece that is not on this car, best fit first, with a constant number of queries."""
    shown = wetted_visible_to(actor).exclude(pk__in=list(on_car)).exclude(kind=PieceKind.OIL_BOTTLE)
    pieces = list(shown)
    circuit = circuit_facts(job.circuit)
    visit = VisitFacts(job_number=job.number, identification=identification, oil_bottle_read=True)
    found = [
        _offered(piece, facts, circuit, visit, today)
        for piece, facts in zip(pieces, piece_facts(pieces, job_number=job.number), strict=True)
    ]
    order = list(PieceKind)
    return tuple(sorted(found, key=lambda one: (one.fit, order.index(one.facts.kind), one.facts.code)))


def usual_set(job: Job, offered: Sequence[Offered]) -> tuple[int, ...]:
    """Return the pieces that were last together on a car of this kind, as far as they fit now.

    Injectors are left out: they come on when the oil is added.
    """
    high_voltage = [drive.value for drive in Drive if drive.is_high_voltage]
    alike = Connection.objects.filter(circuit__refrigerant=job.circuit.refrigerant).exclude(
        job_number=job.number
    )
    by_drive = alike.filter if job.circuit.is_high_voltage else alike.exclude
    last = by_drive(circuit__drive__in=high_voltage).order_by("-connected_at", "-pk").first()
    if last is None:
        return ()
    used = set(Connection.objects.filter(job_number=last.job_number).values_list("piece_id", flat=True))
    return tuple(
        one.piece.pk
        for one in offered
        if one.piece.pk in used and one.fit is Fit.NOW and one.facts.kind is not PieceKind.INJECTOR
    )


def _offered(
    piece: Piece, facts: PieceFacts, circuit: CircuitFacts, visit: VisitFacts, today: date
) -> Offered:
    decision = _alone(circuit, facts, visit, today)
    fit = Fit.NOT
    if decision.permitted:
        fit = Fit.NOW
    elif purge_clears_for(circuit, facts, today):
        fit = Fit.AFTER_PURGE
    return Offered(piece, facts, decision, fit)


def _alone(circuit: CircuitFacts, piece: PieceFacts, visit: VisitFacts, today: date) -> Decision:
    person = PersonFacts(name="", refrigerant_competence=True, high_voltage_competence=True)
    request = ClearanceRequest(circuit=circuit, pieces=(piece,), person=person, visit=visit, today=today)
    return Decision(reasons=decide(request).of_piece(piece.id))
