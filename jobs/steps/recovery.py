"""Recovery: the weight is a lower bound, and recovered oil is the end reading minus the start reading."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps import recovered
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, Output, note, percent, refusal, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import choice, duration, oil_volume, piece, temperature, text, yes_no
from jobs.steps.missing import missing
from jobs.steps.oil_bottle import start_reading_m3
from jobs.steps.recovered import check_weighing, recovered_kg, weighing_findings, weighing_outputs
from jobs.steps.remains import recovered_before, remains_findings, remains_of, remains_outputs
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind
from shopcool.engineering.recovery import LARGEST_SHARE_OF_LABEL, Verdict

MACHINE, MARKED_CYLINDER = "MACHINE", "MARKED_CYLINDER"
OVER_LABEL = LARGEST_SHARE_OF_LABEL

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
    *recovered.FIELDS,
    temperature("ambient", gettext_lazy("Air temperature")),
    duration("duration", gettext_lazy("Time it took")).optional(),
    yes_no("pressure_returned", gettext_lazy("Pressure came back after some minutes")),
    duration(
        "waited",
        gettext_lazy("Time since the pull ended"),
        help=gettext_lazy("With the circuit still closed; leave empty if you go on at once."),
    ).optional(),
    yes_no(
        "certified",
        gettext_lazy("Machine certified to SAE J2788 or J2843"),
        help=gettext_lazy("Older machines leave more behind; leave empty if you do not know."),
    )
    .when("into", MACHINE)
    .optional(),
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
    check_weighing(values)
    total = recovered_before(context) + recovered_kg(values)
    pulled = remains_of(total, values, context)
    shown = context.shown(total, Kind.MASS)
    findings = [
        note("at_least", _("At least %(mass)s was in the circuit.") % {"mass": shown}, source=pulled.source)
    ]
    findings += [
        *remains_findings(pulled, context),
        *_against_label(total, context),
        *weighing_findings(values, context),
    ]
    oil_finding, oil = _oil(values, context)
    findings += oil_finding
    outputs = (
        Output("recovered", _("Recovered"), total, shown, Kind.MASS),
        *weighing_outputs(values, context),
        *_share(total, context),
        *remains_outputs(pulled, context),
        oil,
    )
    if pulled.verdict is Verdict.SECOND_PULL_DUE:
        findings.insert(0, _second_pull(values))
        return Answer(Outcome.NOT_DONE, satisfied=False, findings=tuple(findings), outputs=outputs)
    missing_findings, missing_outputs = missing(total, context)
    findings += missing_findings
    return Answer(Outcome.DONE, findings=tuple(findings), outputs=(*outputs, *missing_outputs))


def _second_pull(values: Values) -> Finding:
    if values.yes("pressure_returned"):
        sentence = _("Pull again: refrigerant came back out of the oil.")
    else:
        sentence = _("Pull again before opening: more than ten minutes have passed since the pull.")
    return refusal("second_pull", sentence, "≤ 10 min", COMMON_PRACTICE)


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
    return (Output("of_label", _("Of the label charge"), recovered / label, percent(recovered / label)),)


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
    return [], Output(
        "recovered_oil", label, end - start, context.shown(end - start, Kind.VOLUME), Kind.VOLUME
    )
