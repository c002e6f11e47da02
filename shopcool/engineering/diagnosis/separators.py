"""The measurement that separates the leading causes best."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shopcool.engineering.diagnosis.causes import Cause, Fact, Sign
from shopcool.engineering.diagnosis.observations import Measured


@dataclass(frozen=True)
class NextMeasurement:
    """A measurement: stable code, sentence, and the causes it speaks for or against."""

    code: str
    sentence: str
    decides: frozenset[Cause]
    fills: Fact | Sign | None = None


RECOVER_AND_WEIGH = NextMeasurement(
    "recover_and_weigh",
    "Recover the charge, weigh it and compare with the label.",
    frozenset({Cause.UNDERCHARGE, Cause.OVERCHARGE}),
    Fact.CHARGE_SHARE,
)
REPEAT = NextMeasurement(
    "repeat", "No known measurement tells the likeliest causes apart: repeat the readings.", frozenset()
)
#: In order of preference: what is cheap, safe and decisive comes first.
SEPARATORS = (
    NextMeasurement(
        "static_test",
        "Let it stand and compare pressure with saturation at the metal's temperature; identify the gas.",
        frozenset({Cause.OTHER_GAS}),
        Fact.STATIC_EXCESS,
    ),
    NextMeasurement(
        "condenser_fan",
        "Prove the condenser fan by speed or current, look for dirt and missing shrouds.",
        frozenset({Cause.CONDENSER_AIRFLOW}),
        Sign.CONDENSER_FAN_PROVEN,
    ),
    RECOVER_AND_WEIGH,
    NextMeasurement(
        "liquid_line",
        "Feel or measure the liquid line from condenser to expansion device for a temperature step or frost.",
        frozenset({Cause.RESTRICTION}),
        Sign.LIQUID_LINE_STEP,
    ),
    NextMeasurement(
        "warm_metering",
        "Watch the low side for some minutes and warm the expansion device: if pressure returns, it was ice.",
        frozenset({Cause.ICE_AT_METERING}),
        Sign.LOW_SIDE_SWINGS,
    ),
    NextMeasurement(
        "raise_speed",
        "Check command and drive of the compressor, and whether the pressure ratio rises with speed.",
        frozenset({Cause.WEAK_COMPRESSOR, Cause.NOT_DRIVEN}),
        Sign.RATIO_RISES_WITH_SPEED,
    ),
    NextMeasurement(
        "drive",
        "Check clutch or inverter, control valve and command before the compressor itself.",
        frozenset({Cause.NOT_DRIVEN}),
    ),
    NextMeasurement(
        "heater_pipes",
        "Compare the temperatures of the heater pipes on full cold.",
        frozenset({Cause.BLEND_DOOR}),
        Sign.HEATER_PIPES_HOT,
    ),
    NextMeasurement(
        "evaporator_air",
        "Check cabin filter, blower and the temperature drop of the air across the evaporator.",
        frozenset({Cause.EVAPORATOR_AIRFLOW}),
    ),
    NextMeasurement(
        "metering_device",
        "Check bulb contact or command of the expansion device and whether it closes.",
        frozenset({Cause.METERING_OPEN, Cause.METERING_STARVED}),
    ),
)


def next_measurement(
    ranked: Sequence[Cause], facts: Mapping[Fact, Measured], signs: Mapping[Sign, bool]
) -> NextMeasurement:
    """Return the measurement that speaks for exactly one of the two leaders and is not made yet.

    The charge is weighed first where a nearly empty circuit would look alike, and before a compressor is
    suspected.
    """
    leaders = set(ranked[:2])
    suspicious = signs.get(Sign.LOW_SIDE_IN_VACUUM) or Cause.WEAK_COMPRESSOR in leaders
    if suspicious and Fact.CHARGE_SHARE not in facts and not signs.get(Sign.PRESSURES_EQUAL):
        return RECOVER_AND_WEIGH
    for separator in SEPARATORS:
        made = separator.fills in facts or separator.fills in signs
        if not made and len(leaders & separator.decides) == 1:
            return separator
    return REPEAT
