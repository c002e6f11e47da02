"""What a running reading and the job's other records say to the diagnosis, and in which conditions."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.procedure import Outcome
from jobs.steps.context import StepContext
from jobs.steps.cycle import Seen
from jobs.steps.gauges import (
    BLOWER_FULL,
    BLOWER_REDUCED,
    FAN_PROVEN,
    FAN_STANDS,
    RUNNING,
    STATIC,
)
from jobs.steps.recovered import recovered_kg
from jobs.steps.standing import EQUAL_PA, static_test
from jobs.steps.values import Values
from shopcool.engineering.cycle import CLAMP_K, HIGH_GAUGE_PA, LOW_GAUGE_PA
from shopcool.engineering.diagnosis import (
    Conditions,
    Drive,
    Measured,
    Metering,
    Mode,
    Observations,
    Port,
    Sign,
)
from shopcool.engineering.errors import Refusal
from shopcool.vehicles import choices

#: A low side this far below the air pressure is a vacuum, and this far above it is not [Pa].
VACUUM_PA = 10_000.0
#: Standard uncertainty of a recovered or charged share of the label.
SHARE = 0.02
_METERING = {
    choices.Metering.EXPANSION_VALVE: Metering.EXPANSION_VALVE,
    choices.Metering.ELECTRONIC_VALVE: Metering.ELECTRONIC_VALVE,
    choices.Metering.ORIFICE_TUBE: Metering.ORIFICE,
    # Nobody knows: the wider limits.
    choices.Metering.UNKNOWN: Metering.ORIFICE,
}


def conditions_of(values: Values, context: StepContext) -> Conditions:
    """Return the conditions of the test; raises Refusal when the kind of compressor is not known."""
    blower = values.text("blower")
    return Conditions(
        mode=Mode(values.text("mode") or Mode.UNKNOWN),
        drive=_drive(values, context),
        metering=_METERING[context.metering],
        port=Port(values.text("port") or Port.NEAR_COMPRESSOR),
        ambient_k=values.si("ambient"),
        steady_s=values.si("steady", 0.0),
        doors_open=_answer(values, "doors_open"),
        blower_at_maximum=blower == BLOWER_FULL if blower else None,
        recirculating=_answer(values, "recirculation"),
        reduced_load_repeat=blower == BLOWER_REDUCED,
    )


def observations_of(values: Values, seen: Seen, context: StepContext, *, after_charge: bool) -> Observations:
    """Return readings and signs; ``after_charge`` says which mass was in the circuit when they were taken."""
    low, high = seen.low, seen.high
    superheat = None if low.line is None else Measured(low.line.value_k, low.line.uncertainty_k / 2.0)
    subcooling = None if high.line is None else Measured(-high.line.value_k, high.line.uncertainty_k / 2.0)
    return Observations(
        condensing_k=_condensing(values, seen),
        evaporating_k=_evaporating(seen),
        vent_k=_clamped(values.si("vent")),
        superheat_k=superheat,
        subcooling_k=subcooling,
        ratio=_ratio(values),
        static_excess_pa=_static_excess(context),
        charge_share=_charge_share(context, after_charge=after_charge),
        signs=signs_of(values, context),
    )


def signs_of(values: Values, context: StepContext) -> dict[Sign, bool]:
    """Return what was seen or looked for in vain; what nobody looked at is absent."""
    signs = {Sign(name): True for name in values.many("seen")}
    signs |= {Sign(name): False for name in values.many("not_seen")}
    fan = values.text("fan")
    if fan in {FAN_PROVEN, FAN_STANDS}:
        signs[Sign.CONDENSER_FAN_PROVEN] = fan == FAN_PROVEN
    if values.needed("high") - values.needed("low") <= EQUAL_PA:
        signs[Sign.PRESSURES_EQUAL] = True
    holds_air = _holds_air(context)
    if holds_air is not None:
        signs[Sign.OTHER_GAS_IDENTIFIED] = holds_air
    if _swings(values, context):
        signs[Sign.LOW_SIDE_SWINGS] = True
    elif _in_vacuum(values, context):
        signs[Sign.LOW_SIDE_IN_VACUUM] = True
    return signs


def _drive(values: Values, context: StepContext) -> Drive:
    if context.case.facts.drive in {choices.Drive.ELECTRIC_HV, choices.Drive.ELECTRIC_LV}:
        return Drive.ELECTRIC
    chosen = values.text("compressor")
    if not chosen:
        raise Refusal(
            "compressor",
            _(
                "Say first which compressor it is: a controlled one holds the low side up and hides faults, "
                "a fixed one doesn't."
            ),
            field="compressor",
        )
    return Drive(chosen)


def _answer(values: Values, name: str) -> bool | None:
    return values.yes(name) if values.has(name) else None


def _clamped(kelvin: float | None) -> Measured | None:
    return None if kelvin is None else Measured(kelvin, CLAMP_K)


def _evaporating(seen: Seen) -> Measured | None:
    found = seen.low.saturation
    return None if found is None else Measured(found.temperature_k, found.temperature_uncertainty_k / 2.0)


def _condensing(values: Values, seen: Seen) -> Measured | None:
    """Return the condensing temperature; above the critical pressure the exit of the gas cooler."""
    found = seen.high.saturation
    if found is None:
        return _clamped(values.si("liquid"))
    return Measured(found.temperature_k, found.temperature_uncertainty_k / 2.0)


def _ratio(values: Values) -> Measured:
    low, high = values.needed("low"), values.needed("high")
    ratio = high / low
    return Measured(ratio, ratio * ((LOW_GAUGE_PA / low) ** 2 + (HIGH_GAUGE_PA / high) ** 2) ** 0.5)


def _static_excess(context: StepContext) -> Measured | None:
    """Return what the newest reading at rest of this visit stood above saturation."""
    at_rest = [
        record
        for record in context.earlier
        if record.kind in {StepKind.READINGS_BEFORE, StepKind.READINGS_AFTER}
        and record.values.text("state") == STATIC
        and record.position > context.case.recorded_at(StepKind.RECOVERY)
    ]
    if not at_rest:
        return None
    try:
        found = static_test(max(at_rest, key=lambda record: record.position).values, context)
    except Refusal:
        return None
    return Measured(found.excess_pa, found.uncertainty_pa / 2.0)


def _charge_share(context: StepContext, *, after_charge: bool) -> Measured | None:
    label = context.case.facts.charge_kg
    if label is None:
        return None
    if after_charge:
        charged = context.charged_before_kg
        return Measured(charged / label, SHARE) if charged > 0.0 else None
    recovered = [
        recovered_kg(record.values) for record in context.earlier if record.kind is StepKind.RECOVERY
    ]
    return Measured(sum(recovered) / label, SHARE) if recovered else None


def _holds_air(context: StepContext) -> bool | None:
    """Return whether the identifier found air in gas that passed; None where it measured no air."""
    found = context.latest(StepKind.IDENTIFICATION)
    if context.case.outcome(StepKind.IDENTIFICATION) is not Outcome.PASSED or found is None:
        return None
    air = found.si("air")
    return None if air is None else air > context.policy.maximum_air


def _in_vacuum(values: Values, context: StepContext) -> bool:
    return values.needed("low") < context.atmosphere_pa - VACUUM_PA


def _swings(values: Values, context: StepContext) -> bool:
    """Whether the low side of several running readings of this visit is now in vacuum, now ordinary."""
    series = [
        record.values
        for record in context.earlier
        if record.kind is StepKind.READINGS_BEFORE and record.values.text("state") == RUNNING
    ]
    lows = [reading.needed("low") for reading in (*series, values)]
    air = context.atmosphere_pa
    return min(lows) < air - VACUUM_PA and max(lows) > air + VACUUM_PA
