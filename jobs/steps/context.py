"""What a step's rules may know beside the values: circuit, shop, earlier records, pieces, day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from equipment.choices import PieceKind
from equipment.measures import HoseMeasures, Weighing
from jobs.choices import StepKind
from jobs.procedure import Case, Outcome
from jobs.steps.answers import Answer
from jobs.steps.fields import FieldKind, FieldSpec, PieceFilter, PieceScope, Scale, Text
from jobs.steps.hoses import typed_kept_kg
from jobs.steps.instruments import InstrumentChoice, instrument_options
from jobs.steps.oil_on_hand import LotChoice, OilFacts, OilOnHand
from jobs.steps.trouble_codes import KnownCode
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind
from shopcool.shop.units import Units
from shopcool.vehicles.choices import Metering


@dataclass(frozen=True)
class ShopPolicy:
    """The shop's rules that steps read; shares 0 to 1."""

    minimum_purity: float = 0.98
    maximum_hydrocarbon: float = 0.02
    maximum_air: float = 0.02
    gloves_required: bool = True
    wait_minutes: int = 10
    next_service_months: int = 24
    glove_test_months: int = 6
    insulation_like_k: float = 10.0


@dataclass(frozen=True)
class PieceChoice:
    """A piece that a step may name. ``cleared``: a clearance of this job let it touch the circuit."""

    id: int
    code: str
    name: str
    kind: PieceKind
    connected: bool = False
    cleared: bool = False
    is_marked_for_contaminated: bool = False
    lubricant: str = ""
    lubricant_grade: str = ""
    hoses: HoseMeasures = field(default_factory=HoseMeasures)
    weighing: Weighing = field(default_factory=Weighing)


@dataclass(frozen=True)
class Earlier:
    """A standing record of the same job, with what the rules said then."""

    kind: StepKind
    position: int
    outcome: Outcome
    values: Values
    answer: Answer | None = None


@dataclass(frozen=True)
class Past:
    """A standing record of an earlier visit of the same circuit."""

    kind: StepKind
    at: datetime
    job_number: str
    values: Values
    answer: Answer


@dataclass(frozen=True)
class SearchRule:
    """What the vehicle maker asks of a leak search: least pressure, absolute [Pa], and temperature [K]."""

    pressure_pa: float | None = None
    temperature_k: float | None = None
    source: str = ""


@dataclass(frozen=True)
class StepContext:
    """Everything the rules of a step may know. Masses [kg], oil [m³], voltage [V]."""

    case: Case
    today: date
    tolerance_kg: float | None = None
    oil_m3: float | None = None
    lubricant_grade: str = ""
    oil_rule: str = ""
    working_voltage_v: float | None = None
    metering: Metering = Metering.UNKNOWN
    maker_wait_minutes: int | None = None
    search: SearchRule = field(default_factory=SearchRule)
    policy: ShopPolicy = field(default_factory=ShopPolicy)
    units: Units = field(default_factory=Units)
    pieces: Iterable[PieceChoice] = ()
    earlier: tuple[Earlier, ...] = ()
    history: Iterable[Past] = ()
    oil: OilOnHand = field(default_factory=OilFacts)
    instruments: Iterable[InstrumentChoice] = ()
    codes: Iterable[KnownCode] = ()

    def latest(self, kind: StepKind) -> Values | None:
        """Return the values of the newest standing record of a kind."""
        found = [record for record in self.earlier if record.kind is kind]
        return max(found, key=lambda record: record.position).values if found else None

    def since(self, kind: StepKind, position: int) -> list[Values]:
        """Return the values of the standing records of a kind after a position, oldest first."""
        found = [record for record in self.earlier if record.kind is kind and record.position > position]
        return [record.values for record in sorted(found, key=lambda record: record.position)]

    def piece(self, piece_id: int | None) -> PieceChoice | None:
        """Return a piece by its number."""
        return next((piece for piece in self.pieces if piece.id == piece_id), None)

    def lots_offered(self) -> list[LotChoice]:
        """Return the lots of the circuit's oil class that may be dispensed."""
        own = self.case.facts.lubricant
        return [lot for lot in self.oil.lots if lot.lubricant == own and not lot.why_not]

    def pieces_for(self, spec: FieldSpec) -> list[PieceChoice]:
        """Return the pieces a field may name."""
        return [piece for piece in self.pieces if spec.pieces and _fits(piece, spec.pieces)]

    def pieces_offered(self, spec: FieldSpec) -> list[PieceChoice]:
        """Return those that may be chosen: of the injectors only the ones labelled for the circuit's oil."""
        own = self.case.facts.lubricant
        listed = self.pieces_for(spec)
        return [one for one in listed if one.kind is not PieceKind.INJECTOR or one.lubricant == own]

    @property
    def charged_before_kg(self) -> float:
        """What was charged after the circuit was last empty [kg]."""
        return sum(
            record.values.si("mass", 0.0) - self._kept_kg(record)
            for record in self.earlier
            if record.kind is StepKind.CHARGE and record.position > self.case.emptied_at
        )

    def _kept_kg(self, charge: Earlier) -> float:
        """Return what the hoses kept as it was answered then: their page may say something else by now."""
        kept = charge.answer.output("kept") if charge.answer else None
        if kept is None or kept.si is None:
            return typed_kept_kg(charge.values, self.case.facts.refrigerant)
        return kept.si

    @property
    def hose_sets(self) -> tuple[PieceChoice, ...]:
        """The hose sets on the vehicle; after the disconnection those that were on it."""
        sets = [piece for piece in self.pieces if piece.kind is PieceKind.HOSE_SET and piece.cleared]
        return tuple(piece for piece in sets if piece.connected) or tuple(sets)

    @property
    def atmosphere_pa(self) -> float:
        """The air pressure at the workshop [Pa]."""
        return self.units.atmosphere_pa

    def under(self, atmosphere_pa: float | None) -> StepContext:
        """Return the context under an air pressure that was measured [Pa], as it is without one."""
        if atmosphere_pa is None:
            return self
        return replace(self, units=replace(self.units, atmosphere_pa=atmosphere_pa))

    def unit_of(self, spec: FieldSpec) -> str:
        """Return the unit of a bare number in a field."""
        if spec.scale is Scale.VACUUM_GAUGE:
            return self.units.fine_vacuum
        if spec.scale is Scale.BAROMETER:
            return self.units.barometer
        if spec.scale is Scale.CYLINDER:
            return self.units.bulk_mass
        return spec.unit or (self.units.of_kind(spec.quantity) if spec.quantity else "")

    def shown(self, si: float, kind: Kind, *, basis: str = "gauge") -> str:
        """Return an SI value in the reader's unit."""
        return self.units.shown(si, kind, basis=basis)


def field_options(spec: FieldSpec, context: StepContext) -> list[tuple[str, Text]]:
    """Return value and words of everything a field offers; empty for fields that are typed."""
    if spec.kind is FieldKind.PIECE:
        return [(str(piece.id), f"{piece.code} {piece.name}") for piece in context.pieces_offered(spec)]
    if spec.kind is FieldKind.INSTRUMENT:
        return instrument_options(spec, list(context.instruments))
    if spec.kind is FieldKind.LOT:
        return [(str(lot.id), f"{lot.code} {lot.grade}") for lot in context.lots_offered()]
    return list(spec.choices)


def _fits(piece: PieceChoice, wanted: PieceFilter) -> bool:
    if piece.kind not in wanted.kinds:
        return False
    if wanted.marked_for_contaminated and not piece.is_marked_for_contaminated:
        return False
    if wanted.scope is PieceScope.CONNECTED:
        return piece.connected
    if wanted.scope is PieceScope.CLEARED:
        return piece.cleared
    return True
