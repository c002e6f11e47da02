"""A job in a real workshop with a database: book, record, connect, purge and close in a few words."""

from __future__ import annotations

from collections.abc import Iterable
from copy import copy
from datetime import timedelta
from typing import Any
from uuid import uuid4

from equipment.choices import PieceKind
from equipment.models import Piece
from equipment.services.connecting import ConnectionOutcome
from jobs.choices import ServiceKind, StepKind
from jobs.models import Job, StepRecord
from jobs.procedure import StepState, StepStatus
from jobs.services.booking import Booking, job_book
from jobs.services.closing import job_close
from jobs.services.connecting import job_connect, job_disconnect
from jobs.services.steps import step_record
from jobs.services.visits import job_check_in
from jobs.situation import Situation, situation_of
from shopcool.core.actors import Actor
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from tests.equipment.workshop import Workshop

#: What a technician types when all goes well; the machine's number is filled in.
RAW: dict[StepKind, dict[str, Any]] = {
    StepKind.LABEL: {"label": "READ", "complaint": "does not cool"},
    StepKind.HIGH_VOLTAGE: {
        "isolated": "yes", "waited": "10", "proved_before": "yes", "measured_at": "inverter plug",
        "voltage": "0.2", "proved_after": "yes", "glove_class": "0", "gloves_tested_on": "2026-01-05",
        "gloves_checked": "yes",
    },
    StepKind.IDENTIFICATION: {
        "result": "ANALYSED", "purity": "99,7", "hydrocarbon": "0", "air": "0.4", "identifier": "ID-1",
        "filter": "CLEAN",
    },
    StepKind.OIL_BOTTLE: {"emptied": "yes"},
    StepKind.READINGS_BEFORE: {"state": "STATIC", "low": "71 psi", "high": "71 psi", "ambient": "20"},
    StepKind.INSULATION: {
        "test": "COMPONENT", "resistance": "> 550 MΩ", "between": "HV+ and housing",
        "disconnected": "compressor plug",
        "nominal_voltage": "500", "actual_voltage": "520", "applied": "60", "surface": "DRY",
    },
    StepKind.RECOVERY: {
        "into": "MACHINE", "mass": "0,48 kg", "ambient": "21", "pressure_returned": "no", "oil_end": "5 ml",
    },
    StepKind.PARTS: {
        "parts": "condenser",
        "compressor": "no",
        "condenser": "yes",
        "condenser_type": "SAME",
        "desiccant": "INTEGRAL",
    },
    StepKind.EVACUATION: {
        "pumped": "25", "valve_closed_first": "yes", "gauge": "ELECTRONIC", "start": "700 micron",
        "held": "10", "end": "900 micron",
    },
    StepKind.OIL: {"added": "no", "why_none": "less than 10 ml came out"},
    StepKind.CHARGE: {"mass": "550", "hoses": "BY_MACHINE"},
    StepKind.READINGS_AFTER: {"state": "RUNNING", "low": "2.1 bar", "high": "14 bar", "ambient": "22"},
    StepKind.LEAK_CHECK: {"method": "ELECTRONIC", "smallest": "4 g/year", "result": "NONE_FOUND"},
    StepKind.CLOSE_OUT: {"next_service_on": "2028-03-02", "customer_told": "yes"},
}  # fmt: skip
_WITH_MACHINE = {StepKind.OIL_BOTTLE, StepKind.RECOVERY, StepKind.EVACUATION, StepKind.CHARGE}
BEFORE_CONNECTION = (StepKind.LABEL, StepKind.HIGH_VOLTAGE, StepKind.IDENTIFICATION, StepKind.OIL_BOTTLE)
WHILE_CONNECTED = (
    StepKind.READINGS_BEFORE,
    StepKind.INSULATION,
    StepKind.RECOVERY,
    StepKind.EVACUATION,
    StepKind.OIL,
    StepKind.CHARGE,
    StepKind.READINGS_AFTER,
    StepKind.LEAK_CHECK,
)


class Bay:
    """One job on an electric car, with a clean machine and hose set beside it; ``place`` numbers the bay."""

    def __init__(
        self,
        workshop: Workshop,
        service: ServiceKind = ServiceKind.AC_SERVICE,
        drive: Drive = Drive.ELECTRIC_HV,
        lubricant: Lubricant = Lubricant.POE,
        refrigerant: Refrigerant = Refrigerant.R1234YF,
        place: int = 1,
    ) -> None:
        self.workshop = workshop
        self.machine = workshop.machine(f"M-{place}", refrigerant)
        self.hoses = workshop.piece(f"H-{place}")
        workshop.purge(self.machine, self.hoses)
        circuit = workshop.circuit(drive, lubricant, refrigerant)
        circuit.charge_kg, circuit.tolerance_kg = 0.55, 0.02
        circuit.save()
        booking = Booking(service, workshop.now + timedelta(hours=1))
        self.job: Job = job_book(actor=self.technician, circuit=circuit, booking=booking, now=workshop.now)

    def again(self) -> Bay:
        """Take the same vehicle in for another visit of the same kind."""
        following = copy(self)
        booking = Booking(ServiceKind(self.job.service), self.workshop.now + timedelta(hours=1))
        circuit, now = self.job.circuit, self.workshop.now
        following.job = job_book(actor=self.technician, circuit=circuit, booking=booking, now=now)
        return following.checked_in()

    @property
    def technician(self) -> Actor:
        return self.workshop.technician

    def checked_in(self) -> Bay:
        """Take the vehicle in."""
        self.job = job_check_in(actor=self.technician, job=self.job, now=self.workshop.later())
        return self

    def raw(self, kind: StepKind, **changes: Any) -> dict[str, Any]:
        """Return what is typed into a step."""
        machine = {"machine": str(self.machine.pk)} if kind in _WITH_MACHINE else {}
        return RAW[kind] | machine | changes

    def record(self, kind: StepKind, actor: Actor | None = None, **changes: Any) -> StepRecord:
        """Record a step with a fresh form."""
        return step_record(
            actor=actor or self.technician,
            job=self.job,
            kind=kind,
            raw=self.raw(kind, **changes),
            seen=StepRecord.objects.filter(job=self.job, kind=kind).count(),
            idempotency_key=uuid4(),
            now=self.workshop.later(),
        )

    def connect(self, *pieces: Piece, actor: Actor | None = None, reason: str = "") -> ConnectionOutcome:
        """Ask for the connection of pieces, of machine and hoses when none are named."""
        return job_connect(
            actor=actor or self.technician,
            job=self.job,
            piece_ids=[piece.pk for piece in pieces or (self.machine, self.hoses)],
            now=self.workshop.later(),
            override_reason=reason,
        )

    def disconnect(self) -> None:
        """Take everything off the vehicle."""
        job_disconnect(actor=self.technician, job=self.job, now=self.workshop.later())

    def close(self, actor: Actor | None = None, **changes: Any) -> Job:
        """Close the job with a fresh form."""
        return job_close(
            actor=actor or self.technician,
            job=self.job,
            raw=RAW[StepKind.CLOSE_OUT] | changes,
            idempotency_key=uuid4(),
            now=self.workshop.later(),
        )

    def up_to_connection(self) -> Bay:
        """Everything before the first gauge reading."""
        self.checked_in()
        for kind in self._needed(BEFORE_CONNECTION):
            self.record(kind)
        assert self.connect().connected
        return self

    def up_to(self, last: StepKind) -> Bay:
        """Everything up to and with a step that needs the machine."""
        self.up_to_connection()
        for kind in self._needed(WHILE_CONNECTED[: WHILE_CONNECTED.index(last) + 1]):
            self.record(kind)
        return self

    def _needed(self, kinds: Iterable[StepKind]) -> list[StepKind]:
        """Return the steps that the job's procedure has."""
        situation = self.situation
        return [kind for kind in kinds if situation.state(kind).status is not StepStatus.NOT_NEEDED]

    def up_to_purge(self) -> Bay:
        """Everything but the closing purge."""
        self.up_to(StepKind.LEAK_CHECK).disconnect()
        return self

    @property
    def situation(self) -> Situation:
        """The job now."""
        job = Job.objects.select_related("circuit__vehicle").get(pk=self.job.pk)
        return situation_of(job, now=self.workshop.now)

    def state(self, kind: StepKind) -> StepState:
        """Where a step stands now."""
        return self.situation.state(kind)

    def sight_glass(self) -> Piece:
        """Return a sight glass whose residue nobody knows."""
        return self.workshop.piece("S-1", PieceKind.SIGHT_GLASS)
