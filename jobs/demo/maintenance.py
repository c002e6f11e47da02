"""The maintenance of the invented workshop: instruments, plans, and the work of the last months."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from uuid import uuid4

from equipment.choices import PieceKind
from equipment.maintenance.choices import IntervalSource, Work, WorkOutcome
from equipment.maintenance.models import MaintenancePlan
from equipment.maintenance.plans import PlanDescription, plan_add
from equipment.maintenance.rules import Interval
from equipment.maintenance.suggestions import suggestions_for
from equipment.maintenance.use import meter_read
from equipment.maintenance.work import WorkDone, work_record
from equipment.models import Piece
from equipment.services.pieces import PieceDescription, piece_register
from jobs.demo.story import Story
from shopcool.engineering.quantities import Kind, parse
from shopcool.vehicles.choices import Refrigerant

INSTRUMENTS = (
    PieceDescription("A-1", "Gas identifier", PieceKind.IDENTIFIER),
    PieceDescription("D-1", "Leak detector, window bay", PieceKind.LEAK_DETECTOR),
    PieceDescription("D-2", "Leak detector, back bay", PieceKind.LEAK_DETECTOR),
    PieceDescription("T-1", "Insulation tester, 1000 V", PieceKind.INSULATION_TESTER),
    PieceDescription("T-2", "Voltage tester", PieceKind.VOLTAGE_TESTER),
    PieceDescription("U-1", "Vacuum gauge", PieceKind.VACUUM_GAUGE),
    PieceDescription("W-1", "Reference mass, 5 kg", PieceKind.REFERENCE_MASS),
    PieceDescription("P-1", "Gloves, size 9", PieceKind.GLOVES, glove_class="0"),
    PieceDescription("P-2", "Gloves, size 10", PieceKind.GLOVES, glove_class="0"),
    PieceDescription("P-3", "Gloves, size 10, in store", PieceKind.GLOVES, glove_class="00"),
)
#: Days since each piece of work was last done; work that is not named was done a month ago.
DAYS_AGO = {
    ("M-1", Work.PUMP_OIL): 380,
    ("M-2", Work.SCALE_CHECK): 27,
    ("M-3", Work.SCALE_CHECK): 12,
    ("M-1", Work.TANK_CHECK): 9,
    ("M-2", Work.TANK_CHECK): 16,
    ("M-3", Work.TANK_CHECK): 4,
    ("C-1", Work.TANK_CHECK): 11,
    ("H-1", Work.LEAK_CHECK): 178,
    ("A-1", Work.IDENTIFIER_FILTER): 170,
    ("D-1", Work.DETECTOR_CHECK): 10,
    ("D-2", Work.DETECTOR_CHECK): 41,
    ("T-1", Work.TESTER_CALIBRATION): 349,
    ("P-1", Work.GLOVE_TEST): 100,
    ("P-2", Work.GLOVE_TEST): 210,
    ("P-3", Work.GLOVE_TEST): 300,
    ("C-1", Work.REQUALIFICATION): 1500,
}
ISSUED_DAYS_AGO = {"P-1": 95, "P-2": 300}
HOUSES = {Work.GLOVE_TEST: "Harbour Glove Test House", Work.TESTER_CALIBRATION: "Ropewalk Instrument Service"}
MONTH = 30
#: What gauges of clean tanks show at 20 °C.
TANK_AT_20 = {Refrigerant.R134A: "4.8 bar", Refrigerant.R1234YF: "4.9 bar"}


@dataclass(frozen=True)
class Upkeep:
    """The maintenance of one day of the story."""

    story: Story
    now: datetime

    def day(self, ago: int) -> date:
        """Return the day so many days before."""
        return (self.now - timedelta(days=ago)).date()

    def tell(self) -> None:
        """Register the instruments, plan what is usual, and record what was done."""
        for description in INSTRUMENTS:
            self._register(description)
        for piece in self.story.pieces.values():
            marked = piece.is_marked_for_contaminated
            for suggestion in suggestions_for(PieceKind(piece.kind), holds_foul_gas=marked):
                self._plan(piece, suggestion.description())
        owner, machine = self.story.people["ingrid"], self.story.pieces["M-2"]
        for hours in (412.0, 429.5):
            meter_read(actor=owner, piece=machine, meter_hours=hours, now=self.now)
        self._plan(
            machine,
            PlanDescription(
                Work.OTHER,
                Interval(months=12),
                IntervalSource.SHOP_POLICY,
                title="Wheels and brakes",
            ),
        )

    def _register(self, description: PieceDescription) -> None:
        issued = ISSUED_DAYS_AGO.get(description.code)
        full = replace(description, issued_on=self.day(issued) if issued else None)
        owner = self.story.people["ingrid"]
        piece = piece_register(actor=owner, description=full, now=self.now)
        self.story.pieces[piece.code] = piece

    def _plan(self, piece: Piece, description: PlanDescription) -> None:
        done = self.day(DAYS_AGO.get((piece.code, description.work), MONTH))
        plan = plan_add(
            actor=self.story.people["ingrid"],
            piece=piece,
            description=replace(description, starts_on=done),
            now=self.now,
        )
        work_record(
            actor=self.story.people["anneke"],
            plan=plan,
            work=self._work(plan, description.work, done),
            submission_key=uuid4(),
            now=self.now,
        )

    def _work(self, plan: MaintenancePlan, work: Work, done: date) -> WorkDone:
        outcome = WorkOutcome.PASSED if work.is_check else WorkOutcome.NOT_JUDGED
        base = WorkDone(done, outcome, done_by=HOUSES.get(work, ""))
        if work is Work.SCALE_CHECK:
            typed = {"reference": "5 kg", "before": "4.984 kg", "after": "5.001 kg"}
            readings = {name: parse(text, Kind.MASS, default_unit="kg") for name, text in typed.items()}
            return replace(base, readings=readings, reference=self.story.pieces["W-1"])
        if work is Work.TANK_CHECK:
            pressure = TANK_AT_20[Refrigerant(plan.piece.refrigerant)]
            return replace(
                base,
                outcome=None,
                readings={
                    "pressure": parse(pressure, Kind.PRESSURE, default_unit="bar"),
                    "temperature": parse("20 °C", Kind.TEMPERATURE, default_unit="°C"),
                },
            )
        parts = {Work.FILTER_DRIER: "Filter-drier, 1 piece", Work.PUMP_OIL: "Vacuum pump oil, 0.5 l"}
        return replace(base, parts=parts.get(work, ""))


def tell(story: Story, now: datetime) -> None:
    """Tell the maintenance of the workshop as it stands at a moment."""
    Upkeep(story, now).tell()
