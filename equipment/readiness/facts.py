"""What the clearance decision looks at: plain facts that survive a trip through JSON."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from equipment.choices import DocumentKind, PieceKind
from equipment.exposure import Residue
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant


class Identification(StrEnum):
    """What the identifier said about the gas in the vehicle on this job."""

    NOT_DONE = "NOT_DONE"
    PASSED = "PASSED"
    FAILED = "FAILED"
    NOT_ANALYSABLE = "NOT_ANALYSABLE"


@dataclass(frozen=True)
class CircuitFacts:
    """The circuit as the decision sees it."""

    name: str
    refrigerant: Refrigerant
    lubricant: Lubricant
    drive: Drive
    suspected_lubricants: frozenset[str] = frozenset()
    no_dye: bool = False
    dedicated_hoses: bool = False
    maker_source: str = ""

    @property
    def residue(self) -> Residue:
        """What a piece takes along from this circuit."""
        lubricants = frozenset({self.lubricant.value}) | self.suspected_lubricants
        return Residue(
            lubricants=lubricants - {Lubricant.UNKNOWN.value},
            refrigerants=frozenset({self.refrigerant.value}) - {Refrigerant.UNKNOWN.value},
            unknown=Lubricant.UNKNOWN.value in lubricants or self.refrigerant is Refrigerant.UNKNOWN,
        )


@dataclass(frozen=True)
class DocumentFacts:
    """A dated proof of a piece."""

    kind: DocumentKind
    number: str
    refrigerants: frozenset[str] = frozenset()
    covers_high_voltage: bool = False
    valid_until: date | None = None
    lubricants: frozenset[str] = frozenset()

    def in_date(self, today: date) -> bool:
        """Whether the proof still counts today."""
        return self.valid_until is None or self.valid_until >= today


@dataclass(frozen=True)
class MaintenanceFacts:
    """What a maintenance plan says about its piece; ``is_reached``: a limit by use is used up."""

    what: str
    source: str
    not_ready: bool
    due_on: date | None = None
    is_reached: bool = False
    failed_on: date | None = None

    def is_overdue(self, today: date) -> bool:
        """Whether the work should have been done; on its day it is due, not overdue."""
        return self.is_reached or (self.due_on is not None and self.due_on < today)


@dataclass(frozen=True)
class PieceFacts:
    """A piece as the decision sees it."""

    id: int
    code: str
    name: str
    kind: PieceKind
    residue: Residue
    refrigerant: str = ""
    lubricant: str = ""
    lubricant_grade: str = ""
    dedicated_to: str = ""
    in_service: bool = True
    out_of_service_reason: str = ""
    busy_on: str = ""
    can_inject_oil: bool | None = None
    can_inject_dye: bool | None = None
    is_marked_for_contaminated: bool = False
    documents: tuple[DocumentFacts, ...] = ()
    maintenance: tuple[MaintenanceFacts, ...] = ()


@dataclass(frozen=True)
class PersonFacts:
    """The person who connects, with the last day of each competence (None: does not expire)."""

    name: str
    refrigerant_competence: bool
    high_voltage_competence: bool


@dataclass(frozen=True)
class VisitFacts:
    """What the job has established before the connection."""

    job_number: str
    identification: Identification = Identification.NOT_DONE
    oil_bottle_read: bool = False
    needs_high_voltage_work: bool = False
    gloves_in_date: bool | None = None
    additives: frozenset[str] = frozenset()


@dataclass(frozen=True)
class ClearanceRequest:
    """Everything the decision looks at."""

    circuit: CircuitFacts
    pieces: tuple[PieceFacts, ...]
    person: PersonFacts
    visit: VisitFacts
    today: date

    @property
    def is_high_voltage(self) -> bool:
        """Whether the electric rule applies."""
        return self.circuit.drive.is_high_voltage

    @property
    def is_contaminated_recovery(self) -> bool:
        """Whether foul or unknown gas is to go into a cylinder marked for it, past every machine."""
        if self.visit.identification not in {Identification.FAILED, Identification.NOT_ANALYSABLE}:
            return False
        marked = any(piece.is_marked_for_contaminated for piece in self.pieces)
        return marked and not any(piece.kind is PieceKind.MACHINE for piece in self.pieces)
