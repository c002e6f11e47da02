"""The equipment of the invented workshop, as it stands on the first day."""

from __future__ import annotations

from datetime import datetime, timedelta

from equipment.choices import DocumentKind, HoseAllowance, PieceKind
from equipment.exposure import Residue
from equipment.models import Piece
from equipment.services.exposures import piece_inspect
from equipment.services.measures import HoseMeasured, MachineWeighs, hoses_measure, machine_weighing_set
from equipment.services.pieces import DocumentDescription, PieceDescription, document_add, piece_register
from shopcool.core.actors import Actor
from shopcool.engineering.quantities import Kind, parse
from shopcool.vehicles.choices import Lubricant, Refrigerant

R134A, R1234YF = Refrigerant.R134A, Refrigerant.R1234YF
PAG, POE = Lubricant.PAG, Lubricant.POE

PIECES = (
    PieceDescription(
        "M-1", "Old blue machine", PieceKind.MACHINE, R134A, can_inject_oil=True, can_inject_dye=True
    ),
    PieceDescription(
        "M-2", "Window bay machine", PieceKind.MACHINE, R1234YF, can_inject_oil=False, can_inject_dye=False
    ),
    PieceDescription(
        "M-3", "Back bay machine", PieceKind.MACHINE, R134A, can_inject_oil=False, can_inject_dye=False
    ),
    PieceDescription("H-1", "Hose set, 3 m", PieceKind.HOSE_SET, R134A),
    PieceDescription("H-2", "Hose set, 2.4 m", PieceKind.HOSE_SET, R1234YF),
    PieceDescription("H-3", "Hose set for electric cars", PieceKind.HOSE_SET, R1234YF, dedicated_to=POE),
    PieceDescription("H-4", "Spare hose set, new", PieceKind.HOSE_SET, R1234YF),
    PieceDescription("G-1", "Sight glass", PieceKind.SIGHT_GLASS),
    PieceDescription("F-1", "Four-valve manifold", PieceKind.MANIFOLD, R134A),
    PieceDescription("I-1", "Injector R-134a PAG", PieceKind.INJECTOR, R134A, PAG, "PAG 46"),
    PieceDescription("I-2", "Injector R-134a POE", PieceKind.INJECTOR, R134A, POE, "POE 68"),
    PieceDescription("I-3", "Injector R-1234yf PAG", PieceKind.INJECTOR, R1234YF, PAG, "PAG 46"),
    PieceDescription("I-4", "Injector R-1234yf POE", PieceKind.INJECTOR, R1234YF, POE, "POE 68"),
    PieceDescription("C-1", "Recovery cylinder", PieceKind.RECOVERY_CYLINDER, R134A),
    PieceDescription(
        "C-9", "Cylinder for foul gas", PieceKind.RECOVERY_CYLINDER, is_marked_for_contaminated=True
    ),
    PieceDescription("B-1", "Recovered-oil bottle", PieceKind.OIL_BOTTLE),
)
MACHINE_DOCUMENTS = (
    DocumentKind.CERTIFICATE,
    DocumentKind.SCALE_CALIBRATION,
    DocumentKind.GAUGE_CALIBRATION,
)
FOR_HIGH_VOLTAGE = {"M-2", "M-3"}


def pieces_create(owner: Actor, now: datetime) -> dict[str, Piece]:
    """Register every piece with its documents and return them by code."""
    pieces = {
        description.code: piece_register(actor=owner, description=description, now=now)
        for description in PIECES
    }
    _measure(owner, pieces)
    for piece in pieces.values():
        if piece.kind == PieceKind.MACHINE:
            _add_documents(owner, piece, now)
        if piece.kind == PieceKind.INJECTOR:
            _inspect_new(owner, piece, now + timedelta(minutes=5))
    return pieces


def _measure(owner: Actor, pieces: dict[str, Piece]) -> None:
    """Enter what the hoses hold and with which of them each machine is set up."""
    by_print = HoseMeasured(
        bore=parse("4.8 mm", Kind.LENGTH, default_unit="mm"),
        length=parse("3 m", Kind.LENGTH, default_unit="m"),
        source="print on the hose",
    )
    weighed = HoseMeasured(
        content=parse("41 ml", Kind.VOLUME, default_unit="ml"), source="weighed three times, mean"
    )
    hoses_measure(actor=owner, piece=pieces["H-1"], measured=by_print)
    hoses_measure(actor=owner, piece=pieces["H-2"], measured=weighed)
    tolerance = parse("10 g", Kind.MASS, default_unit="g")
    for machine, hoses in {"M-1": "H-1", "M-2": "H-2", "M-3": "H-1"}.items():
        weighs = MachineWeighs(tolerance, HoseAllowance.ALLOWS, pieces[hoses])
        machine_weighing_set(actor=owner, piece=pieces[machine], weighs=weighs)


def _add_documents(owner: Actor, machine: Piece, now: datetime) -> None:
    issued = (now - timedelta(days=90)).date()
    for kind in MACHINE_DOCUMENTS:
        is_certificate = kind is DocumentKind.CERTIFICATE
        days = 3 * 365 if is_certificate else 365
        document_add(
            actor=owner,
            piece=machine,
            description=DocumentDescription(
                kind=kind,
                number=f"{machine.code}/{kind.value[:3]}/{issued:%y}",
                body="Northern Test House" if is_certificate else "Ropewalk Instrument Service",
                issued_on=issued,
                valid_until=issued + timedelta(days=days),
                standard=_standard(machine) if is_certificate else "",
                edition="2020" if is_certificate else "",
                refrigerants=(machine.refrigerant,) if is_certificate else (),
                lubricants=(POE,) if is_certificate and machine.code in FOR_HIGH_VOLTAGE else (),
                covers_high_voltage=is_certificate and machine.code in FOR_HIGH_VOLTAGE,
            ),
            now=now,
        )


def _standard(machine: Piece) -> str:
    return "SAE J2788" if machine.refrigerant == R134A else "SAE J2843"


def _inspect_new(owner: Actor, injector: Piece, now: datetime) -> None:
    piece_inspect(
        actor=owner,
        piece_id=injector.pk,
        residue=Residue(
            lubricants=frozenset({injector.lubricant}), refrigerants=frozenset({injector.refrigerant})
        ),
        occurred_at=now,
        now=now,
        note="Factory sealed; filled from a new container of the labelled oil",
    )
