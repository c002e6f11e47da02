"""The causes that a diagnosis ranks, and what each is expected to look like."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Cause(StrEnum):
    """What may be wrong with a circuit that cools badly."""

    UNDERCHARGE = "undercharge"
    OVERCHARGE = "overcharge"
    OTHER_GAS = "other_gas"
    CONDENSER_AIRFLOW = "condenser_airflow"
    METERING_STARVED = "metering_starved"
    ICE_AT_METERING = "ice_at_metering"
    RESTRICTION = "restriction"
    METERING_OPEN = "metering_open"
    NOT_DRIVEN = "not_driven"
    WEAK_COMPRESSOR = "weak_compressor"
    EVAPORATOR_AIRFLOW = "evaporator_airflow"
    NOTHING_FOUND = "nothing_found"
    BLEND_DOOR = "blend_door"


NAMES = {
    Cause.UNDERCHARGE: "too little refrigerant",
    Cause.OVERCHARGE: "too much refrigerant",
    Cause.OTHER_GAS: "air, another or a mixed refrigerant",
    Cause.CONDENSER_AIRFLOW: "too little air through the condenser: fan, dirt, shrouds",
    Cause.METERING_STARVED: "restriction at the expansion device",
    Cause.ICE_AT_METERING: "moisture freezing at the expansion device",
    Cause.RESTRICTION: "restriction upstream: drier, filter, liquid line",
    Cause.METERING_OPEN: "expansion device stuck open",
    Cause.NOT_DRIVEN: "compressor not driven: clutch, belt, control valve, inverter, command",
    Cause.WEAK_COMPRESSOR: "compressor weak or not stroking",
    Cause.EVAPORATOR_AIRFLOW: "too little air through the evaporator: filter, fan, ice",
    Cause.BLEND_DOOR: "air side: blend door or heater valve",
    Cause.NOTHING_FOUND: "nothing stands out in these readings",
}


class Fact(StrEnum):
    """A measured quantity that is low, normal or high."""

    APPROACH = "approach"
    SUPERHEAT = "superheat"
    SUBCOOLING = "subcooling"
    EVAPORATING = "evaporating"
    VENT = "vent"
    RATIO = "ratio"
    STATIC_EXCESS = "static_excess"
    CHARGE_SHARE = "charge_share"


class Sign(StrEnum):
    """An observation that is there or not."""

    PRESSURES_EQUAL = "pressures_equal"
    LOW_SIDE_IN_VACUUM = "low_side_in_vacuum"
    LOW_SIDE_SWINGS = "low_side_swings"
    WETTING_HELPS = "wetting_helps"
    LIQUID_LINE_STEP = "liquid_line_step"
    CONDENSER_FAN_PROVEN = "condenser_fan_proven"
    HEATER_PIPES_HOT = "heater_pipes_hot"
    OTHER_GAS_IDENTIFIED = "other_gas_identified"
    RATIO_RISES_WITH_SPEED = "ratio_rises_with_speed"


LOW, NORMAL, HIGH = "low", "normal", "high"


@dataclass(frozen=True)
class Expectation:
    """The levels that a cause leads one to expect of a fact, and how much that weighs."""

    levels: tuple[str, ...]
    weight: float


#: Level letters of a pattern row: l low, h high, ~ ordinary, H ordinary or high, L low or ordinary.
_LEVELS = {"l": (LOW,), "h": (HIGH,), "~": (NORMAL,), "H": (NORMAL, HIGH), "L": (LOW, NORMAL)}
_TELLING, _ORDINARY, _WEIGHED = 1.0, 0.6, 4.0

_COLUMNS = (Fact.APPROACH, Fact.SUPERHEAT, Fact.SUBCOOLING, Fact.EVAPORATING, Fact.VENT, Fact.RATIO)
#: Signs that a list for technicians gives for charge, airflow, restriction and valve faults; the rest is
#: textbook judgement. Columns: approach, superheat, subcooling, evaporating temperature, vent, ratio.
_ROWS = {
    Cause.UNDERCHARGE: "l h l l h ~",
    Cause.OVERCHARGE: "h l h h h H",
    Cause.OTHER_GAS: "h ~ h h h H",
    Cause.CONDENSER_AIRFLOW: "h ~ ~ H h H",
    Cause.METERING_STARVED: "l h h l h H",
    Cause.ICE_AT_METERING: "l h h l h H",
    Cause.RESTRICTION: "~ h h l h H",
    Cause.METERING_OPEN: "~ l l h h L",
    Cause.NOT_DRIVEN: "l h l h h l",
    Cause.WEAK_COMPRESSOR: "l h ~ h h l",
    Cause.EVAPORATOR_AIRFLOW: "l l ~ l ~ ~",
    Cause.BLEND_DOOR: "~ ~ ~ ~ h ~",
    Cause.NOTHING_FOUND: "~ ~ ~ ~ ~ ~",
}
#: What a weighed charge or a static test says; every other cause expects both ordinary.
_DECIDERS = {
    Cause.UNDERCHARGE: {Fact.CHARGE_SHARE: Expectation((LOW,), _WEIGHED)},
    Cause.OVERCHARGE: {Fact.CHARGE_SHARE: Expectation((HIGH,), _WEIGHED)},
    Cause.OTHER_GAS: {Fact.STATIC_EXCESS: Expectation((HIGH,), _WEIGHED)},
}


def _pattern(cause: Cause, row: str) -> dict[Fact, Expectation]:
    letters = dict(zip(_COLUMNS, row.split(), strict=True))
    pattern = {
        fact: Expectation(_LEVELS[letter], _TELLING if letter in "lh" else _ORDINARY)
        for fact, letter in letters.items()
    }
    ordinary = Expectation((NORMAL,), _TELLING)
    return {**pattern, Fact.CHARGE_SHARE: ordinary, Fact.STATIC_EXCESS: ordinary, **_DECIDERS.get(cause, {})}


PATTERNS: Mapping[Cause, Mapping[Fact, Expectation]] = {c: _pattern(c, row) for c, row in _ROWS.items()}

_ALL = tuple(Cause)
#: Weight that a sign adds to each cause when it is there, and when it is known not to be there.
_SIGNS: Mapping[Sign, tuple[Mapping[Cause, float], Mapping[Cause, float]]] = {
    Sign.PRESSURES_EQUAL: (
        {**dict.fromkeys(_ALL, -3.0), Cause.NOT_DRIVEN: 4.0, Cause.WEAK_COMPRESSOR: 2.0},
        {Cause.NOT_DRIVEN: -3.0},
    ),
    Sign.LOW_SIDE_IN_VACUUM: (
        {
            **dict.fromkeys(_ALL, -1.0),
            Cause.METERING_STARVED: 3.0,
            Cause.RESTRICTION: 2.5,
            Cause.ICE_AT_METERING: 0.5,
            Cause.UNDERCHARGE: 0.5,
            Cause.NOT_DRIVEN: -4.0,
            Cause.WEAK_COMPRESSOR: -4.0,
        },
        {},
    ),
    Sign.LOW_SIDE_SWINGS: ({Cause.ICE_AT_METERING: 4.0}, {Cause.ICE_AT_METERING: -2.0}),
    Sign.WETTING_HELPS: (
        {Cause.CONDENSER_AIRFLOW: 1.0, Cause.OVERCHARGE: 1.0},
        {Cause.CONDENSER_AIRFLOW: -1.0, Cause.OVERCHARGE: -1.0},
    ),
    Sign.LIQUID_LINE_STEP: ({Cause.RESTRICTION: 4.0}, {Cause.RESTRICTION: -2.0}),
    Sign.CONDENSER_FAN_PROVEN: ({Cause.CONDENSER_AIRFLOW: -2.0}, {Cause.CONDENSER_AIRFLOW: 4.0}),
    Sign.HEATER_PIPES_HOT: ({Cause.BLEND_DOOR: 3.0}, {Cause.BLEND_DOOR: -3.0}),
    Sign.OTHER_GAS_IDENTIFIED: ({Cause.OTHER_GAS: 6.0}, {Cause.OTHER_GAS: -4.0}),
    Sign.RATIO_RISES_WITH_SPEED: (
        {Cause.WEAK_COMPRESSOR: -3.0, Cause.NOT_DRIVEN: -3.0},
        {Cause.WEAK_COMPRESSOR: 2.0},
    ),
}


def sign_weight(sign: Sign, present: bool, cause: Cause) -> float:
    """Return what a sign says about a cause: positive for, negative against, zero nothing."""
    return _SIGNS[sign][0 if present else 1].get(cause, 0.0)
