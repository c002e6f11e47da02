"""A small workshop for the equipment tests: people, circuits and pieces, built in a few words."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from itertools import count
from typing import Any

from equipment.choices import DocumentKind, PieceKind
from equipment.exposure import Residue
from equipment.models import Piece
from equipment.oil.filling import injector_fill
from equipment.oil.lots import LotDescription, oil_lot_receive
from equipment.oil.models import OilLot, OilMove
from equipment.purging import PurgeReadings
from equipment.readiness import Identification, VisitFacts
from equipment.services.connecting import ConnectionOutcome, pieces_connect, pieces_disconnect
from equipment.services.exposures import piece_inspect
from equipment.services.pieces import DocumentDescription, PieceDescription, document_add, piece_register
from equipment.services.purges import PurgeOutcome, purge_record
from shopcool.core.actors import Actor, Role
from shopcool.engineering.quantities import Kind, parse
from shopcool.people.models import Competence, CompetenceKind, User
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from shopcool.vehicles.models import Circuit, Vehicle

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
GOOD_PURGE = PurgeReadings(circulated_kg=0.5, duration_s=300.0, final_vacuum_pa=2_000.0, completed=True)


def make_user(username: str, *roles: Role, qualified: bool = True) -> User:
    """Return a person, with both competences in date when qualified."""
    user = User.objects.create_user(username, full_name=username.title(), roles=list(roles))
    for kind in CompetenceKind if qualified else ():
        Competence.objects.create(
            user=user, kind=kind, number=f"{username}-{kind}", body="Board", issued_on=date(2024, 1, 1)
        )
    return user


@dataclass
class Workshop:
    """People, circuits and pieces with a clock of their own."""

    technician: Actor = field(init=False)
    owner: Actor = field(init=False)
    now: datetime = START
    numbers: count[int] = field(default_factory=lambda: count(1))

    def __post_init__(self) -> None:
        self.technician = make_user("tilda", Role.TECHNICIAN).as_actor()
        self.owner = make_user("orla", Role.OWNER, Role.TECHNICIAN).as_actor()

    def later(self, minutes: float = 10) -> datetime:
        """Move the clock on and return the new time."""
        self.now += timedelta(minutes=minutes)
        return self.now

    def circuit(
        self,
        drive: Drive = Drive.ELECTRIC_HV,
        lubricant: Lubricant = Lubricant.POE,
        refrigerant: Refrigerant = Refrigerant.R1234YF,
    ) -> Circuit:
        """Return the circuit of a new vehicle."""
        vehicle = Vehicle.objects.create(
            registration=f"SC {next(self.numbers):03d}", make="Example", model="Test"
        )
        return Circuit.objects.create(
            vehicle=vehicle,
            drive=drive,
            lubricant=lubricant,
            refrigerant=refrigerant,
            working_voltage_v=400 if drive.is_high_voltage else None,
        )

    def piece(self, code: str, kind: PieceKind = PieceKind.HOSE_SET, **values: object) -> Piece:
        """Return a registered piece; its residue is unknown."""
        description = PieceDescription(code=code, name=f"Piece {code}", kind=kind, **values)  # type: ignore[arg-type]
        return piece_register(actor=self.owner, description=description, now=self.now)

    def machine(
        self,
        code: str = "M-1",
        refrigerant: Refrigerant = Refrigerant.R1234YF,
        *,
        covers_high_voltage: bool = True,
        injects_dye: bool | None = False,
        injects_oil: bool | None = False,
    ) -> Piece:
        """Return a certified and calibrated machine without injection."""
        machine = self.piece(
            code,
            PieceKind.MACHINE,
            refrigerant=refrigerant,
            can_inject_oil=injects_oil,
            can_inject_dye=injects_dye,
        )
        for kind in DocumentKind:
            description = DocumentDescription(
                kind=kind,
                number=f"{code}-{kind}",
                body="Board",
                issued_on=date(2026, 1, 1),
                valid_until=date(2027, 1, 1),
                refrigerants=(refrigerant.value,),
                covers_high_voltage=covers_high_voltage,
            )
            document_add(actor=self.owner, piece=machine, description=description, now=self.now)
        return machine

    def lot(self, code: str = "L-1", *, millilitres: str = "250", **values: Any) -> OilLot:
        """Return a sealed container of the oil that most tests need."""
        description = LotDescription(
            code=code,
            **{
                "lubricant": Lubricant.POE,
                "grade": "POE 68",
                "supplier": "Harbour Lubricants",
                "batch": f"B-{code}",
                "container": parse(millilitres, Kind.VOLUME, default_unit="ml"),
                "density": parse("0.96", Kind.DENSITY, default_unit="g/ml"),
                "density_source": "data sheet",
                "received_on": self.now.date(),
            }
            | values,
        )
        return oil_lot_receive(actor=self.technician, description=description, now=self.now)

    def injector(self, code: str = "I-1", *, clean: bool = True, **values: Any) -> Piece:
        """Return an injector, inspected when new so that it holds nothing unknown."""
        label = {"refrigerant": Refrigerant.R1234YF, "lubricant": Lubricant.POE, "lubricant_grade": "POE 68"}
        piece = self.piece(code, PieceKind.INJECTOR, **label | values)
        if clean:
            now = self.later()
            piece_inspect(
                actor=self.owner, piece_id=piece.pk, residue=Residue(), occurred_at=now, now=now, note="new"
            )
        return piece

    def fill(self, injector: Piece, lot: OilLot, millilitres: str = "60") -> OilMove:
        """Fill an injector from a lot."""
        amount = parse(millilitres, Kind.VOLUME, default_unit="ml")
        return injector_fill(
            actor=self.technician, injector=injector, lot=lot, amount=amount, now=self.later()
        )

    def purge(
        self, machine: Piece, *pieces: Piece, at: datetime | None = None, readings: PurgeReadings = GOOD_PURGE
    ) -> PurgeOutcome:
        """Purge a loop, now or at an earlier time."""
        now = self.later()
        return purge_record(
            actor=self.technician,
            machine_id=machine.pk,
            piece_ids=[piece.pk for piece in pieces],
            readings=readings,
            occurred_at=at or now,
            now=now,
        )

    def connect(
        self,
        circuit: Circuit,
        *pieces: Piece,
        job: str = "J-1",
        actor: Actor | None = None,
        override_reason: str = "",
        identification: Identification = Identification.PASSED,
        additives: frozenset[str] = frozenset(),
    ) -> ConnectionOutcome:
        """Ask for the connection of pieces, with everything else in order."""
        return pieces_connect(
            actor=actor or self.technician,
            circuit=circuit,
            piece_ids=[piece.pk for piece in pieces],
            visit=VisitFacts(job, identification, oil_bottle_read=True, additives=additives),
            now=self.later(),
            override_reason=override_reason,
        )

    def disconnect(self, job: str = "J-1") -> None:
        """Take everything of a job off the vehicle."""
        pieces_disconnect(actor=self.technician, job_number=job, now=self.later())
