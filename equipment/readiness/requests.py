"""A clearance request as JSON and back, so that a recorded decision can be judged again."""

from __future__ import annotations

from datetime import date
from typing import Any

from equipment.choices import DocumentKind, PieceKind
from equipment.exposure import Residue
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
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant

Record = dict[str, Any]


def request_as_record(request: ClearanceRequest) -> Record:
    """Return everything a decision looked at as plain JSON values."""
    return {
        "circuit": {
            "name": request.circuit.name,
            "refrigerant": request.circuit.refrigerant.value,
            "lubricant": request.circuit.lubricant.value,
            "drive": request.circuit.drive.value,
            "suspected_lubricants": sorted(request.circuit.suspected_lubricants),
            "no_dye": request.circuit.no_dye,
            "dedicated_hoses": request.circuit.dedicated_hoses,
            "maker_source": request.circuit.maker_source,
        },
        "pieces": [_piece_as_record(piece) for piece in request.pieces],
        "person": {
            "name": request.person.name,
            "refrigerant_competence": request.person.refrigerant_competence,
            "high_voltage_competence": request.person.high_voltage_competence,
        },
        "visit": {
            "job_number": request.visit.job_number,
            "identification": request.visit.identification.value,
            "oil_bottle_read": request.visit.oil_bottle_read,
            "needs_high_voltage_work": request.visit.needs_high_voltage_work,
            "gloves_in_date": request.visit.gloves_in_date,
            "additives": sorted(request.visit.additives),
        },
        "today": request.today.isoformat(),
    }


def request_from_record(record: Record) -> ClearanceRequest:
    """Return the request that :func:`request_as_record` wrote down."""
    circuit, visit = record["circuit"], record["visit"]
    return ClearanceRequest(
        circuit=CircuitFacts(
            name=circuit["name"],
            refrigerant=Refrigerant(circuit["refrigerant"]),
            lubricant=Lubricant(circuit["lubricant"]),
            drive=Drive(circuit["drive"]),
            suspected_lubricants=frozenset(circuit["suspected_lubricants"]),
            no_dye=circuit.get("no_dye", False),
            dedicated_hoses=circuit.get("dedicated_hoses", False),
            maker_source=circuit.get("maker_source", ""),
        ),
        pieces=tuple(_piece_from_record(piece) for piece in record["pieces"]),
        person=PersonFacts(**record["person"]),
        visit=VisitFacts(
            **{
                **visit,
                "identification": Identification(visit["identification"]),
                "additives": frozenset(visit.get("additives", ())),
            }
        ),
        today=date.fromisoformat(record["today"]),
    )


def _piece_as_record(piece: PieceFacts) -> Record:
    return {
        "id": piece.id,
        "code": piece.code,
        "name": piece.name,
        "kind": piece.kind.value,
        "residue": residue_as_record(piece.residue),
        "refrigerant": piece.refrigerant,
        "lubricant": piece.lubricant,
        "lubricant_grade": piece.lubricant_grade,
        "dedicated_to": piece.dedicated_to,
        "in_service": piece.in_service,
        "out_of_service_reason": piece.out_of_service_reason,
        "busy_on": piece.busy_on,
        "can_inject_oil": piece.can_inject_oil,
        "can_inject_dye": piece.can_inject_dye,
        "is_marked_for_contaminated": piece.is_marked_for_contaminated,
        "documents": [_document_as_record(document) for document in piece.documents],
        "maintenance": [_plan_as_record(plan) for plan in piece.maintenance],
    }


def _piece_from_record(record: Record) -> PieceFacts:
    return PieceFacts(
        **{
            **record,
            "kind": PieceKind(record["kind"]),
            "residue": residue_from_record(record["residue"]),
            "documents": tuple(_document_from_record(item) for item in record["documents"]),
            "maintenance": tuple(_plan_from_record(item) for item in record.get("maintenance", ())),
        }
    )


def residue_as_record(residue: Residue) -> Record:
    """Return a residue as plain JSON values."""
    return {
        "lubricants": sorted(residue.lubricants),
        "refrigerants": sorted(residue.refrigerants),
        "additives": sorted(residue.additives),
        "unknown": residue.unknown,
    }


def residue_from_record(record: Record) -> Residue:
    """Return the residue that :func:`residue_as_record` wrote down."""
    return Residue(
        lubricants=frozenset(record["lubricants"]),
        refrigerants=frozenset(record["refrigerants"]),
        additives=frozenset(record["additives"]),
        unknown=record["unknown"],
    )


def _document_as_record(document: DocumentFacts) -> Record:
    return {
        "kind": document.kind.value,
        "number": document.number,
        "refrigerants": sorted(document.refrigerants),
        "lubricants": sorted(document.lubricants),
        "covers_high_voltage": document.covers_high_voltage,
        "valid_until": document.valid_until.isoformat() if document.valid_until else None,
    }


def _document_from_record(record: Record) -> DocumentFacts:
    valid_until = record["valid_until"]
    return DocumentFacts(
        kind=DocumentKind(record["kind"]),
        number=record["number"],
        refrigerants=frozenset(record["refrigerants"]),
        lubricants=frozenset(record.get("lubricants", ())),
        covers_high_voltage=record["covers_high_voltage"],
        valid_until=date.fromisoformat(valid_until) if valid_until else None,
    )


def _plan_as_record(plan: MaintenanceFacts) -> Record:
    return {
        **vars(plan),
        "due_on": plan.due_on.isoformat() if plan.due_on else None,
        "failed_on": plan.failed_on.isoformat() if plan.failed_on else None,
    }


def _plan_from_record(record: Record) -> MaintenanceFacts:
    days = {name: date.fromisoformat(day) for name in ("due_on", "failed_on") if (day := record[name])}
    return MaintenanceFacts(**{**record, **days})
