"""The derived values of a running reading, each with its uncertainty, or why there is none."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.steps.answers import Output
from jobs.steps.context import StepContext
from jobs.steps.cycle import Seen, Side
from jobs.steps.values import Values
from shopcool.engineering.cycle import Cycle
from shopcool.engineering.diagnosis import Mode
from shopcool.engineering.quantities import Kind
from shopcool.engineering.saturation import Verdict


def figures(values: Values, seen: Seen, context: StepContext) -> list[Output]:
    """Return saturation, superheat, subcooling, approaches, ratio and the ideal discharge."""
    ratio = values.needed("high") / values.needed("low")
    return [
        _boiling("low_saturation", _("Low side boils at"), seen.low, context),
        _boiling("high_saturation", _("High side condenses at"), seen.high, context),
        _difference("superheat", _("Superheat"), seen.low, 1.0, context),
        _difference("subcooling", _("Subcooling"), seen.high, -1.0, context),
        *_approaches(values, seen, context),
        *_condenser_drop(values, context),
        Output("ratio", _("Compression ratio"), ratio, f"{ratio:.1f}"),
        *(_of_cycle(seen.cycle, context) if seen.cycle else ()),
    ]


def _boiling(name: str, label: str, side: Side, context: StepContext) -> Output:
    found = side.saturation
    if found is None:
        return Output(name, label, None, _("none at this pressure"))
    shown = _with_spread(found.temperature_k, Kind.TEMPERATURE, found.temperature_uncertainty_k, context)
    if found.verdict is Verdict.IMPLAUSIBLE:
        shown = _("%(value)s, implausible") % {"value": context.shown(found.temperature_k, Kind.TEMPERATURE)}
    return Output(name, label, found.temperature_k, shown, Kind.TEMPERATURE)


def _difference(name: str, label: str, side: Side, sign: float, context: StepContext) -> Output:
    if side.saturation is None:
        return Output(name, label, None, _("none at this pressure"))
    if side.line is None:
        return Output(name, label, None, _("line not measured"))
    value = sign * side.line.value_k
    return Output(
        name,
        label,
        value,
        _with_spread(value, Kind.TEMPERATURE_DIFFERENCE, side.line.uncertainty_k, context),
        Kind.TEMPERATURE_DIFFERENCE,
    )


def _with_spread(value: float, kind: Kind, spread_k: float, context: StepContext) -> str:
    spread = context.shown(spread_k, Kind.TEMPERATURE_DIFFERENCE)
    return f"{context.shown(value, kind)} ± {spread}"


def _approaches(values: Values, seen: Seen, context: StepContext) -> list[Output]:
    """Return how far the exchangers stay from their air; in heat-pump mode the outer one doesn't condense."""
    if values.text("mode") == Mode.HEAT_PUMP:
        return []
    warm = seen.high.saturation.temperature_k if seen.high.saturation else values.si("liquid")
    cold = seen.low.saturation.temperature_k if seen.low.saturation else None
    pairs = (
        ("condenser_approach", _("Condensing above the air"), warm, values.si("ambient")),
        ("evaporator_approach", _("Vent above evaporating"), values.si("vent"), cold),
    )
    return [
        Output(
            name,
            label,
            upper - lower,
            context.shown(upper - lower, Kind.TEMPERATURE_DIFFERENCE),
            Kind.TEMPERATURE_DIFFERENCE,
        )
        for name, label, upper, lower in pairs
        if upper is not None and lower is not None
    ]


def _condenser_drop(values: Values, context: StepContext) -> list[Output]:
    """Return the typed drop across the condenser, or what discharge and liquid line make of it."""
    drop, discharge, liquid = (values.si(name) for name in ("condenser_drop", "discharge", "liquid"))
    if drop is None and discharge is not None and liquid is not None:
        drop = discharge - liquid
    if drop is None:
        return []
    shown = context.shown(drop, Kind.TEMPERATURE_DIFFERENCE)
    return [Output("condenser_drop", _("Across the condenser"), drop, shown)]


def _of_cycle(found: Cycle, context: StepContext) -> list[Output]:
    discharge = found.isentropic_discharge_temperature_k
    outputs = [
        Output(
            "ideal_discharge",
            _("Discharge of an ideal compressor"),
            discharge,
            context.shown(discharge, Kind.TEMPERATURE),
            Kind.TEMPERATURE,
        ),
        Output(
            "ideal_performance",
            _("Ideal performance of the cycle"),
            found.cop_ideal,
            f"{found.cop_ideal:.2f}",
        ),
    ]
    if found.isentropic_efficiency is not None:
        efficiency = found.isentropic_efficiency
        shown = context.shown(efficiency, Kind.FRACTION)
        outputs.append(Output("efficiency", _("Efficiency of the compression"), efficiency, shown))
    return outputs
