"""What readings before and after ask for: pressures, line temperatures, the air, how the car was running."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from jobs.steps.fields import (
    FieldSpec,
    choice,
    duration,
    multi,
    pressure,
    quantity,
    share,
    temperature,
    text,
    yes_no,
)
from jobs.steps.window import WINDOW_FIELDS
from shopcool.engineering.diagnosis import Drive, Mode, Port, Sign
from shopcool.engineering.quantities import Kind

STATIC, RUNNING = "STATIC", "RUNNING"
BLOWER_FULL, BLOWER_REDUCED, BLOWER_OTHER = "FULL", "REDUCED", "OTHER"
FAN_PROVEN, FAN_TURNS, FAN_STANDS = "PROVEN", "TURNS", "STANDS"

_SIGNS = (
    (Sign.LOW_SIDE_SWINGS.value, _("Low side swings between vacuum and ordinary")),
    (Sign.WETTING_HELPS.value, _("Pressures become ordinary when the condenser is wetted")),
    (Sign.LIQUID_LINE_STEP.value, _("Temperature step or frost along the liquid line")),
    (Sign.HEATER_PIPES_HOT.value, _("Heater pipes hot on full cold")),
    (Sign.RATIO_RISES_WITH_SPEED.value, _("Pressure ratio rises with speed")),
)


def _while_running(*fields: FieldSpec) -> tuple[FieldSpec, ...]:
    return tuple(field.when("state", RUNNING).optional() for field in fields)


_AT_REST = tuple(
    field.when("state", STATIC).optional()
    for field in (
        temperature(
            "metal",
            _("Metal near the liquid"),
            help=_("Receiver or condenser bottom; the pressure belongs to this temperature."),
        ),
        duration("rested", _("At rest for"), unit="h"),
    )
)
_LINES = _while_running(
    temperature("suction", _("Suction line at the compressor")),
    temperature("liquid", _("Liquid line"), help=_("R-744: exit of the gas cooler.")),
    temperature("discharge", _("Discharge line")),
    temperature("inlet", _("Air into the evaporator")),
    temperature("vent", _("Vent temperature")),
    quantity(
        "condenser_drop",
        _("Across the condenser"),
        Kind.TEMPERATURE_DIFFERENCE,
        limits=(0.0, 120.0),
        sentence=_("A condenser drops less than 120 K: check number and unit."),
        help=_("How much cooler the refrigerant leaves it than it came. Shown, never graded."),
    ),
)
_CONDITIONS = _while_running(
    choice(
        "mode",
        _("What runs"),
        (
            (Mode.CABIN_COOLING.value, _("cabin")),
            (Mode.BATTERY_COOLING.value, _("battery")),
            (Mode.HEAT_PUMP.value, _("heat pump")),
        ),
        help=_("It decides which exchanger condenses: as a heat pump the outer one evaporates."),
    ),
    choice(
        "compressor",
        _("Compressor"),
        (
            (Drive.FIXED_BELT.value, _("fixed")),
            (Drive.VARIABLE_BELT.value, _("controlled")),
            (Drive.ELECTRIC.value, _("electric")),
        ),
        help=_("Fixed or controlled displacement; a control holds the low side up and hides faults."),
    ),
    duration("steady", _("Running steadily for")),
    choice(
        "blower",
        _("Blower"),
        (
            (BLOWER_FULL, _("maximum")),
            (BLOWER_REDUCED, _("about 40 %")),
            (BLOWER_OTHER, _("other")),
        ),
    ),
    yes_no("recirculation", _("Recirculation")),
    yes_no("doors_open", _("Doors open")),
    choice(
        "fan",
        _("Condenser fan"),
        (
            (FAN_PROVEN, _("proved")),
            (FAN_TURNS, _("turns")),
            (FAN_STANDS, _("too slow")),
        ),
        help=_("Proved by speed or current; that it turns proves nothing."),
    ),
    choice(
        "port",
        _("Low-side port"),
        (
            (Port.NEAR_COMPRESSOR.value, _("compressor")),
            (Port.AT_ACCUMULATOR.value, _("accumulator")),
        ),
        help=_("At the accumulator it can miss the low side of a restriction."),
    ),
    quantity(
        "speed",
        _("Compressor or engine speed"),
        Kind.SPEED_RPM,
        unit="rpm",
        limits=(0.0, 15_000.0),
        sentence=_("Speeds stay below 15 000 rpm: check number and unit."),
    ),
    quantity(
        "control_current",
        _("Current of the control valve"),
        Kind.CURRENT,
        unit="A",
        limits=(0.0, 10.0),
        sentence=_("A control valve takes less than 10 A: check number and unit."),
    ),
    share("control_duty", _("Duty of the control valve")),
    multi("seen", _("Also seen"), _SIGNS),
    multi("not_seen", _("Looked for and not there"), _SIGNS),
    text("conditions", _("Other conditions")),
)

GAUGE_FIELDS = (
    choice(
        "state",
        _("The system was"),
        ((STATIC, _("off, pressures equalised")), (RUNNING, _("running"))),
    ),
    pressure("low", _("Low side")),
    pressure("high", _("High side")),
    temperature("ambient", _("Air temperature")),
    share("humidity", _("Relative humidity")).optional(),
    *_AT_REST,
    *_LINES,
    *_CONDITIONS,
    pressure(
        "sensor",
        _("High side by the vehicle's own sensor"),
        basis="absolute",
        help=_("Scan tools often show absolute pressure."),
    ).optional(),
    *WINDOW_FIELDS,
)
