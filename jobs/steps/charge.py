"""Charge: weighed against the label and its tolerance, with the hoses counted."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, Output, good, note, refusal, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import choice, mass, piece, text
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind

BY_MACHINE, TYPED, NOT_KNOWN = "BY_MACHINE", "TYPED", "NOT_KNOWN"
#: Certified machines charge within this [kg]; used where the label gives no tolerance.
MACHINE_TOLERANCE_KG = 0.015
TOLERANCE_SOURCE = "SAE J2788 section 9.1: within 15 g of the chosen amount"
#: Below this label charge the content of the hoses must be known [kg].
SMALL_CHARGE_KG = 0.5

FIELDS = (
    piece("machine", gettext_lazy("Machine"), PieceKind.MACHINE),
    mass("mass", gettext_lazy("Charged refrigerant")),
    choice(
        "hoses",
        gettext_lazy("Content of the hoses"),
        (
            (BY_MACHINE, gettext_lazy("the machine allows for it")),
            (TYPED, gettext_lazy("it stayed in the hoses; the amount follows")),
            (NOT_KNOWN, gettext_lazy("not known")),
        ),
    ),
    mass("hose_content", gettext_lazy("Left in the hoses")).when("hoses", TYPED),
    text("reason", gettext_lazy("Why the charge differs from the label")).optional(),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return whether the charge agrees with the label; a deviation needs a reason."""
    label = context.case.facts.charge_kg
    if label is None:
        raise ValuesInvalid(
            {"mass": [_("The label charge is not known: enter it on the vehicle's page first.")]}
        )
    total = context.charged_before_kg + _net(values, label)
    verdict = _against_label(total, label, values, context)
    within = verdict.code == "charge_agrees"
    findings = [verdict, *_hoses(values), *_assumed_tolerance(context)]
    outcome = Outcome.IN_TOLERANCE if within else Outcome.OUT_OF_TOLERANCE
    satisfied = within or bool(values.text("reason"))
    return Answer(outcome, satisfied, tuple(findings), _outputs(total, label, context))


def _assumed_tolerance(context: StepContext) -> list[Finding]:
    if context.tolerance_kg is not None:
        return []
    sentence = _("The label gives no tolerance; that of certified machines was used.")
    return [note("tolerance_assumed", sentence, "± 15 g", TOLERANCE_SOURCE)]


def _net(values: Values, label: float) -> float:
    if values.text("hoses") == NOT_KNOWN and label < SMALL_CHARGE_KG:
        sentence = _("With a label charge below 500 g the content of the hoses decides: find it out first.")
        raise ValuesInvalid({"hoses": [sentence]})
    net = values.needed("mass") - values.si("hose_content", 0.0)
    if net < 0.0:
        raise ValuesInvalid({"hose_content": [_("More can't stay in the hoses than was charged.")]})
    return net


def _hoses(values: Values) -> list[Finding]:
    if values.text("hoses") != NOT_KNOWN:
        return []
    sentence = _("The content of the hoses is not known: the circuit holds less than was charged.")
    return [warning("hoses_not_known", sentence, source=COMMON_PRACTICE)]


def _against_label(total: float, label: float, values: Values, context: StepContext) -> Finding:
    tolerance = MACHINE_TOLERANCE_KG if context.tolerance_kg is None else context.tolerance_kg
    limit = f"{context.shown(label, Kind.MASS)} ± {context.shown(tolerance, Kind.MASS)}"
    difference = total - label
    if abs(difference) <= tolerance + 1e-9:
        return good("charge_agrees", _("The charge agrees with the label."), limit, _("label"))
    shown = {"difference": context.shown(abs(difference), Kind.MASS)}
    if difference > 0:
        sentence = _("%(difference)s more than the label: correct it, or say why.") % shown
    else:
        sentence = _("%(difference)s less than the label: add it, or say why.") % shown
    tone = warning if values.text("reason") else refusal
    return tone("charge_differs", sentence, limit, _("label"))


def _outputs(total: float, label: float, context: StepContext) -> tuple[Output, ...]:
    return (
        Output("total", _("In the circuit"), total, context.shown(total, Kind.MASS)),
        Output("of_label", _("Of the label charge"), total / label, f"{total / label:.0%}"),
    )
