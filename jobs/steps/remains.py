"""What a recovery leaves in the circuit, by temperature, kind of circuit and machine."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.steps.answers import COMMON_PRACTICE, Finding, Output, note, warning
from jobs.steps.context import StepContext
from jobs.steps.recovered import recovered_kg
from jobs.steps.values import Values
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import Kind
from shopcool.engineering.recovery import COLD, COOL, Recovery, recovery
from shopcool.vehicles.choices import Metering

_ITS_FIELD = {"ambient_k": "ambient", "waited_s": "waited"}


def recovered_before(context: StepContext) -> float:
    """Return what earlier pulls of this visit took out since the last charge [kg]."""
    pulls = context.since(StepKind.RECOVERY, context.case.recorded_at(StepKind.CHARGE))
    return sum(recovered_kg(values) for values in pulls)


def remains_of(total_kg: float, values: Values, context: StepContext) -> Recovery:
    """Return what the pulls of this visit, ``total_kg`` together [kg], say about the circuit."""
    try:
        return recovery(
            total_kg,
            ambient_k=values.needed("ambient"),
            accumulator=context.metering is Metering.ORIFICE_TUBE,
            certified_machine=values.yes("certified"),
            pressure_returned=values.yes("pressure_returned"),
            waited_s=values.si("waited", 0.0),
        )
    except Refusal as error:
        raise ValuesInvalid({_ITS_FIELD.get(error.field, "mass"): [error.message]}) from error


def remains_findings(pulled: Recovery, context: StepContext) -> list[Finding]:
    """Return the cold and the accumulator that keep refrigerant back."""
    found = []
    if pulled.residue is COLD:
        sentence = _("It is cold: up to 30 % may remain in the circuit. Warm the workshop or pull again.")
        limit = f"≥ {context.shown(COOL.from_k, Kind.TEMPERATURE)}"
        found.append(warning("cold_recovery", sentence, limit, pulled.source))
    if pulled.accumulator:
        sentence = _("An accumulator holds refrigerant in its cold oil: more than usual may remain.")
        found.append(note("accumulator", sentence, source=COMMON_PRACTICE))
    return found


def remains_outputs(pulled: Recovery, context: StepContext) -> tuple[Output, ...]:
    """Return the estimate of what is still in the circuit."""
    most = pulled.remaining_high_kg
    text = _("up to %(mass)s") % {"mass": context.shown(most, Kind.MASS)}
    return (Output("may_remain", _("May remain in the circuit"), most, text),)
