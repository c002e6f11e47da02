"""The clearance decision: may these pieces be connected to this circuit now?

A pure function of facts. It returns **all** reasons, not only the first, each with a stable code, a sentence,
a fix and its source, so that a decision can be judged again when a late entry changes what was known.
"""

from __future__ import annotations

from datetime import date

from equipment.readiness.facts import (
    CircuitFacts,
    ClearanceRequest,
    DocumentFacts,
    Identification,
    MaintenanceFacts,
    PersonFacts,
    PieceFacts,
    VisitFacts,
)
from equipment.readiness.high_voltage_rules import HIGH_VOLTAGE_RULES
from equipment.readiness.job_rules import JOB_RULES
from equipment.readiness.machine_rules import MACHINE_RULES
from equipment.readiness.maintenance_rules import MAINTENANCE_RULES
from equipment.readiness.maker_rules import MAKER_RULES
from equipment.readiness.piece_rules import PIECE_RULES
from equipment.readiness.reasons import RULES_VERSION, Decision, Reason, Severity

__all__ = [
    "RULES_VERSION",
    "CircuitFacts",
    "ClearanceRequest",
    "Decision",
    "DocumentFacts",
    "Identification",
    "MaintenanceFacts",
    "PersonFacts",
    "PieceFacts",
    "Reason",
    "Severity",
    "VisitFacts",
    "decide",
    "piece_decision",
]

ALL_PIECE_RULES = (*PIECE_RULES, *MAINTENANCE_RULES, *MACHINE_RULES, *HIGH_VOLTAGE_RULES, *MAKER_RULES)


def decide(request: ClearanceRequest) -> Decision:
    """Return the verdict on connecting the pieces to the circuit, with every reason."""
    reasons: list[Reason] = []
    for job_rule in JOB_RULES:
        reasons.extend(job_rule(request))
    for piece in request.pieces:
        for piece_rule in ALL_PIECE_RULES:
            reasons.extend(piece_rule(request, piece))
    return Decision(reasons=tuple(reasons))


def piece_decision(circuit: CircuitFacts, piece: PieceFacts, today: date) -> Decision:
    """Return what one piece alone would say to a circuit; the readiness board asks this."""
    request = ClearanceRequest(
        circuit=circuit,
        pieces=(piece,),
        person=PersonFacts(name="", refrigerant_competence=True, high_voltage_competence=True),
        visit=VisitFacts(job_number=""),
        today=today,
    )
    return Decision(reasons=tuple(reason for rule in ALL_PIECE_RULES for reason in rule(request, piece)))
