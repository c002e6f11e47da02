"""What was measured at the running vehicle, and the test conditions it was measured in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from shopcool.engineering.diagnosis.causes import HIGH, LOW, NORMAL, Fact, Sign
from shopcool.engineering.limits import within


class Drive(StrEnum):
    """What moves the compressor, and whether its displacement or speed is controlled."""

    FIXED_BELT = "fixed_belt"
    VARIABLE_BELT = "variable_belt"
    ELECTRIC = "electric"

    @property
    def is_controlled(self) -> bool:
        """Whether a control can hold the low side up and hide or imitate a fault."""
        return self is not Drive.FIXED_BELT


class Metering(StrEnum):
    """What meters the refrigerant into the evaporator."""

    EXPANSION_VALVE = "expansion_valve"
    ELECTRONIC_VALVE = "electronic_valve"
    ORIFICE = "orifice"


class Mode(StrEnum):
    """Which exchanger does what while the readings were taken."""

    CABIN_COOLING = "cabin_cooling"
    BATTERY_COOLING = "battery_cooling"
    HEAT_PUMP = "heat_pump"
    UNKNOWN = "unknown"


class Port(StrEnum):
    """Where the low-side port sits."""

    NEAR_COMPRESSOR = "near_compressor"
    AT_ACCUMULATOR = "at_accumulator"


@dataclass(frozen=True)
class Measured:
    """A value with its standard uncertainty, both in the same unit."""

    value: float
    standard: float


@dataclass(frozen=True)
class Conditions:
    """How the readings were taken.

    ``ambient_k`` [K] is None when not measured, ``steady_s`` [s] how long the system had run alike. The three
    switches are None when nobody noted them. ``reduced_load_repeat`` says that the test of a controlled
    compressor was repeated at reduced load (blower at about 40 %) and still fell short.
    """

    mode: Mode
    drive: Drive
    metering: Metering
    port: Port = Port.NEAR_COMPRESSOR
    ambient_k: float | None = None
    steady_s: float = 0.0
    doors_open: bool | None = None
    blower_at_maximum: bool | None = None
    recirculating: bool | None = None
    reduced_load_repeat: bool = False


@dataclass(frozen=True)
class Observations:
    """Readings of the running system; whatever was not measured is absent.

    Temperatures [K]: ``condensing_k`` (or gas-cooler exit), ``evaporating_k``, ``vent_k``; differences [K]:
    ``superheat_k``, ``subcooling_k``; ``ratio`` of absolute pressures [-]; ``static_excess_pa`` [Pa] over
    saturation at rest; ``charge_share`` recovered mass over label mass [-].
    """

    condensing_k: Measured | None = None
    evaporating_k: Measured | None = None
    vent_k: Measured | None = None
    superheat_k: Measured | None = None
    subcooling_k: Measured | None = None
    ratio: Measured | None = None
    static_excess_pa: Measured | None = None
    charge_share: Measured | None = None
    signs: Mapping[Sign, bool] = field(default_factory=dict)


@dataclass(frozen=True)
class Limits:
    """The ordinary range of a fact with where it comes from; ``None`` is unbounded."""

    low: float | None
    high: float | None
    source: str


_MANUAL = "a vehicle service manual"
_JUDGEMENT = "textbook judgement, from memory; a setting"
LIMITS: Mapping[Fact, Limits] = {
    Fact.APPROACH: Limits(8.0, 27.0, f"{_MANUAL}: condenser 19 to 22 K above ambient at 50 km/h; widened"),
    Fact.SUPERHEAT: Limits(2.0, 15.0, _JUDGEMENT),
    Fact.SUBCOOLING: Limits(2.0, 14.0, _JUDGEMENT),
    Fact.EVAPORATING: Limits(269.15, 282.15, _JUDGEMENT),
    Fact.VENT: Limits(None, 9.0, f"{_MANUAL}: air 2 to 6 K above the evaporating temperature; widened"),
    Fact.RATIO: Limits(2.2, 9.0, _JUDGEMENT),
    Fact.STATIC_EXCESS: Limits(-30e3, 30e3, "detection limit of the static test; from memory"),
    Fact.CHARGE_SHARE: Limits(0.85, 1.1, "label tolerance and incomplete recovery; a setting"),
}
#: An orifice doesn't control superheat, and an accumulator lives with little subcooling.
ORIFICE_LIMITS: Mapping[Fact, Limits] = {
    Fact.SUPERHEAT: Limits(-1.0, 25.0, _JUDGEMENT),
    Fact.SUBCOOLING: Limits(0.0, 14.0, _JUDGEMENT),
}
#: Ambient of a working day where it was not measured: anything from 15 to 50 °C.
UNKNOWN_AMBIENT = Measured(305.65, 8.75)
LARGEST_UNCERTAINTY = 1e6
_BOUNDS: Mapping[str, tuple[float, float]] = {
    "condensing_k": (200.0, 450.0),
    "evaporating_k": (150.0, 400.0),
    "vent_k": (200.0, 400.0),
    "superheat_k": (-100.0, 200.0),
    "subcooling_k": (-100.0, 200.0),
    "ratio": (0.01, 1000.0),
    "static_excess_pa": (-2e7, 2e7),
    "charge_share": (0.0, 20.0),
}


def check_observations(seen: Observations) -> None:
    """Refuse readings that are no numbers or not of this world.

    Raises ``not_a_number``, ``reading``, ``uncertainty``.
    """
    for name, (low, high) in _BOUNDS.items():
        measured: Measured | None = getattr(seen, name)
        if measured is None:
            continue
        within(
            measured.value,
            low,
            high,
            name="A reading",
            field=name,
            code="reading",
            message="A reading is far outside what a vehicle can show: check unit and basis.",
        )
        within(
            measured.standard,
            0.0,
            LARGEST_UNCERTAINTY,
            name="The uncertainty of a reading",
            field=name,
            code="uncertainty",
            message="The uncertainty of a reading must be between 0 and a million.",
        )


def facts_of(seen: Observations, conditions: Conditions) -> dict[Fact, Measured]:
    """Return the measured facts; differences from ambient carry the uncertainty of both."""
    facts = {
        Fact.SUPERHEAT: seen.superheat_k,
        Fact.SUBCOOLING: seen.subcooling_k,
        Fact.EVAPORATING: seen.evaporating_k,
        Fact.RATIO: seen.ratio,
        Fact.STATIC_EXCESS: seen.static_excess_pa,
        Fact.CHARGE_SHARE: seen.charge_share,
    }
    if seen.condensing_k is not None:
        known = conditions.ambient_k
        ambient = UNKNOWN_AMBIENT if known is None else Measured(known, 1.0)
        facts[Fact.APPROACH] = _difference(seen.condensing_k, ambient)
    if seen.vent_k is not None and seen.evaporating_k is not None:
        facts[Fact.VENT] = _difference(seen.vent_k, seen.evaporating_k)
    return {fact: measured for fact, measured in facts.items() if measured is not None}


def _difference(first: Measured, second: Measured) -> Measured:
    return Measured(first.value - second.value, (first.standard**2 + second.standard**2) ** 0.5)


def limits_of(fact: Fact, metering: Metering) -> Limits:
    """Return the ordinary range of a fact for this kind of metering."""
    return ORIFICE_LIMITS.get(fact, LIMITS[fact]) if metering is Metering.ORIFICE else LIMITS[fact]


def levels_of(measured: Measured, limits: Limits) -> dict[str, float]:
    """Return how far a value belongs to low, normal and high, each 0 to 1, summing to 1.

    A value within twice its uncertainty of a limit belongs partly to both sides.
    """
    low = 0.0 if limits.low is None else 1.0 - _above(measured, limits.low)
    high = 0.0 if limits.high is None else _above(measured, limits.high)
    if low + high > 1.0:  # an uncertainty wider than the ordinary range
        low, high = low / (low + high), high / (low + high)
    return {LOW: low, NORMAL: 1.0 - low - high, HIGH: high}


def _above(measured: Measured, limit: float) -> float:
    half = 2.0 * measured.standard
    if half == 0.0:
        return 1.0 if measured.value > limit else 0.0
    return min(max((measured.value - limit + half) / (2.0 * half), 0.0), 1.0)
