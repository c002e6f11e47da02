"""What the procedure looks at: plain facts of circuit, service, shop and progress."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from equipment.choices import PieceKind
from jobs.choices import JobStatus, ServiceKind, StepKind
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant

GAUGED = frozenset({PieceKind.MACHINE, PieceKind.MANIFOLD})


class Outcome(StrEnum):
    """How a recorded step ended, as later steps ask about it."""

    DONE = "DONE"
    NOT_DONE = "NOT_DONE"
    MATCHES = "MATCHES"
    MISMATCH = "MISMATCH"
    SAFE = "SAFE"
    NOT_SAFE = "NOT_SAFE"
    PASSED = "PASSED"
    FAILED = "FAILED"
    NOT_ANALYSABLE = "NOT_ANALYSABLE"
    EMPTY = "EMPTY"
    STATIC = "STATIC"
    RUNNING = "RUNNING"
    NO_PRESSURE = "NO_PRESSURE"
    HELD = "HELD"
    NOT_HELD = "NOT_HELD"
    IN_TOLERANCE = "IN_TOLERANCE"
    OUT_OF_TOLERANCE = "OUT_OF_TOLERANCE"
    LEAK_FOUND = "LEAK_FOUND"
    NO_LEAK_FOUND = "NO_LEAK_FOUND"
    NO_VERDICT = "NO_VERDICT"


@dataclass(frozen=True)
class ProcedureFacts:
    """The circuit and the service, as far as they decide which steps a job needs.

    ``charge_kg`` is the label charge [kg], None when unknown. ``other_oil_suspected`` says that oil of
    another class may have entered the circuit earlier.
    """

    service: ServiceKind
    refrigerant: Refrigerant
    lubricant: Lubricant
    drive: Drive
    charge_kg: float | None
    other_oil_suspected: bool = False

    @property
    def is_high_voltage(self) -> bool:
        """Whether the electric rule applies: decided by the drive, never by the word hybrid."""
        return self.drive.is_high_voltage


@dataclass(frozen=True)
class StepDone:
    """A step record that stands. ``position`` is the place of the record it corrects, if it corrects one."""

    kind: StepKind
    position: int
    outcome: Outcome
    satisfied: bool


@dataclass(frozen=True)
class Progress:
    """How far a job is: its records in order, and what hangs on the vehicle now.

    ``tainted`` are pieces on a high-voltage circuit whose residue has become unsafe since their clearance.
    """

    status: JobStatus
    records: tuple[StepDone, ...] = ()
    connected: frozenset[PieceKind] = frozenset()
    contaminated_cylinder_on: bool = False
    was_connected: bool = False
    purges_due: tuple[str, ...] = ()
    tainted: tuple[str, ...] = ()
