"""Recovery: the weight is a lower bound, and recovered oil is the end reading minus the start reading."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, Output, note, refusal, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import choice, duration, mass, oil_volume, piece, temperature, text, yes_no
from jobs.steps.oil_bottle import start_reading_m3
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind
from shopcool.vehicles.choices import Metering

MACHINE, MARKED_CYLINDER = "MACHINE", "MARKED_CYLINDER"
COLD_K = 288.15
OVER_LABEL = 1.25
EFFICIENCY_SOURCE = "SAE J2788 section 7.1.1: at least 95 % at 21 to 24 °C, no external heating"
RESIDUE_SOURCE = "86 FR 15587 (2021), preamble: older machines left up to 30 %"

FIELDS = (
    choice(
        "into",
        gettext_lazy("Recovered into"),
        (
            (MACHINE, gettext_lazy("the service machine")),
            (MARKED_CYLINDER, gettext_lazy("a cylinder marked for contaminated refrigerant")),
        ),
    ),
    piece("machine", gettext_lazy("Machine"), PieceKind.MACHINE).when("into", MACHINE),
    piece("cylinder", gettext_lazy("Marked cylinder"), PieceKind.RECOVERY_CYLINDER, marked=True).when(
        "into", MARKED_CYLINDER
    ),
    text("destination", gettext_lazy("Where its content goes"), help=gettext_lazy("Name and address.")).when(
        "into", MARKED_CYLINDER
    ),
    mass("mass", gettext_lazy("Recovered refrigerant")),
    temperature("ambient", gettext_lazy("Air temperature")),
    duration("duration", gettext_lazy("Time it took")).optional(),
    yes_no("pressure_returned", gettext_lazy("Pressure came back after some minutes")),
    oil_volume(
        "oil_end",
        gettext_lazy("Reading of the oil bottle at the end"),
        help=gettext_lazy("Leave empty if it was not read: unknown is not zero."),
    )
    .when("into", MACHINE)
    .optional(),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return what was recovered: at least this much was in the circuit, and nothing here says it leaked."""
    _check_path(values, context)
    recovered = values.needed("mass")
    shown = context.shown(recovered, Kind.MASS)
    findings = [
        note(
            "at_least", _("At least %(mass)s was in the circuit.") % {"mass": shown}, source=EFFICIENCY_SOURCE
        )
    ]
    findings += [*_remains(values, context), *_against_label(recovered, context)]
    oil_finding, oil = _oil(values, context)
    findings += oil_finding
    outputs = (Output("recovered", _("Recovered"), recovered, shown), *_share(recovered, context), oil)
    if values.yes("pressure_returned"):
        sentence = _("Pull again: refrigerant came back out of the oil.")
        findings.insert(0, refusal("second_pull", sentence, source=COMMON_PRACTICE))
        return Answer(Outcome.NOT_DONE, satisfied=False, findings=tuple(findings), outputs=outputs)
    return Answer(Outcome.DONE, findings=tuple(findings), outputs=outputs)


def _check_path(values: Values, context: StepContext) -> None:
    marked = values.text("into") == MARKED_CYLINDER
    if context.case.is_foul and not marked:
        sentence = _("This gas is contaminated or unknown: it only goes into a cylinder marked for it.")
        raise ValuesInvalid({"into": [sentence]})
    if marked and not context.case.is_foul:
        sentence = _(
            "Refrigerant that passed the identifier is not mixed into a cylinder for contaminated gas."
        )
        raise ValuesInvalid({"into": [sentence]})


def _remains(values: Values, context: StepContext) -> list[Finding]:
    found = []
    if values.needed("ambient") < COLD_K:
        sentence = _("It is cold: up to 30 % may remain in the circuit. Warm the workshop or pull again.")
        found.append(warning("cold_recovery", sentence, "≥ 15 °C", RESIDUE_SOURCE))
    if context.metering is Metering.ORIFICE_TUBE:
        sentence = _("An accumulator holds refrigerant in its cold oil: more than usual may remain.")
        found.append(note("accumulator", sentence, source=COMMON_PRACTICE))
    return found


def _against_label(recovered: float, context: StepContext) -> list[Finding]:
    label = context.case.facts.charge_kg
    if label is None or recovered <= OVER_LABEL * label:
        return []
    sentence = _("This is more than 125 % of the label charge: check label, unit and scale.")
    return [
        warning("over_label", sentence, f"≤ {context.shown(OVER_LABEL * label, Kind.MASS)}", COMMON_PRACTICE)
    ]


def _share(recovered: float, context: StepContext) -> tuple[Output, ...]:
    label = context.case.facts.charge_kg
    if label is None:
        return (Output("of_label", _("Of the label charge"), None, _("label charge not known")),)
    return (Output("of_label", _("Of the label charge"), recovered / label, f"{recovered / label:.0%}"),)


def _oil(values: Values, context: StepContext) -> tuple[list[Finding], Output]:
    start = start_reading_m3(context.latest(StepKind.OIL_BOTTLE))
    end = values.si("oil_end")
    label = _("Recovered oil")
    if start is None or end is None:
        sentence = _("Recovered oil is not known, because the bottle was not read; that is not zero.")
        return [note("oil_unknown", sentence)], Output("recovered_oil", label, None, _("not known"))
    before = context.since(StepKind.RECOVERY, context.case.recorded_at(StepKind.OIL_BOTTLE))
    if end < max([start, *(earlier.si("oil_end", start) for earlier in before)]):
        sentence = _("The bottle holds less than before. Was it emptied in between?")
        raise ValuesInvalid({"oil_end": [sentence]})
    return [], Output("recovered_oil", label, end - start, context.shown(end - start, Kind.VOLUME))
