"""Oil added: which oil, how much, and through which injector – or that none was added."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, Output, good, note, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import PieceScope, choice, oil_volume, piece, text, yes_no
from jobs.steps.oil_rule import balance_findings
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind
from shopcool.vehicles.choices import Lubricant

INJECTOR, WITH_PART = "INJECTOR", "WITH_PART"

FIELDS = (
    yes_no("added", gettext_lazy("Oil was added")),
    choice(
        "way",
        gettext_lazy("How"),
        (
            (INJECTOR, gettext_lazy("with an injector")),
            (WITH_PART, gettext_lazy("measured into the new part")),
        ),
    ).when("added", "yes"),
    piece(
        "injector",
        gettext_lazy("Injector"),
        PieceKind.INJECTOR,
        scope=PieceScope.CLEARED,
        help=gettext_lazy("Only injectors that a clearance of this job has let onto the vehicle."),
    ).when("way", INJECTOR),
    choice(
        "oil",
        gettext_lazy("Oil class on its container"),
        tuple((item.value, item.label) for item in Lubricant if item is not Lubricant.UNKNOWN),
    ).when("way", WITH_PART),
    text("grade", gettext_lazy("Grade on its container")).when("added", "yes"),
    oil_volume("amount", gettext_lazy("Amount")).when("added", "yes"),
    text("why_none", gettext_lazy("Why none")).when("added", "no"),
    text(
        "replaced",
        gettext_lazy("Parts replaced, with what was drained from each"),
        help=gettext_lazy("As the vehicle's oil rule names them: “compressor 35 ml, condenser”."),
    ).optional(),
    yes_no("sudden_loss", gettext_lazy("Oil was lost suddenly")).optional(),
    yes_no("emptied", gettext_lazy("All oil was lost or flushed out")).optional(),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return what went in. Another oil class than the circuit's is refused, however small the amount."""
    balance, by_rule = balance_findings(values, context)
    if values.no("added"):
        findings = [note("none_added", _("No oil was added."))]
        added = Output("amount", _("Oil added"), 0.0, _("none"))
    else:
        findings = [_same_oil(values, context), *_amount(values, context)]
        amount = values.needed("amount")
        added = Output("amount", _("Oil added"), amount, context.shown(amount, Kind.VOLUME), Kind.VOLUME)
    return Answer(Outcome.DONE, findings=(*findings, *balance), outputs=(added, *by_rule))


def _same_oil(values: Values, context: StepContext) -> Finding:
    injector = context.piece(values.number("injector"))
    used = injector.lubricant if injector else values.text("oil")
    own = context.case.facts.lubricant
    if used != own:
        sentence = _("The circuit needs %(own)s oil, this is %(used)s. No amount of it is acceptable.")
        words = {"own": own.label, "used": Lubricant(used).label}
        raise ValuesInvalid({"injector" if injector else "oil": [sentence % words]})
    sentence = _("%(oil)s, as the circuit needs.") % {"oil": own.label}
    return good("oil_agrees", sentence, source=COMMON_PRACTICE)


def _amount(values: Values, context: StepContext) -> list[Finding]:
    amount = values.needed("amount")
    if amount <= 0.0:
        raise ValuesInvalid({"amount": [_("An amount of nothing is no addition: say that none was added.")]})
    found = []
    grade = context.lubricant_grade
    if grade and values.text("grade").casefold() != grade.casefold():
        sentence = _("The label asks for the grade %(grade)s. Grades of one class are not interchangeable.")
        found.append(warning("other_grade", sentence % {"grade": grade}, source=COMMON_PRACTICE))
    if context.oil_m3 is not None and amount > context.oil_m3:
        sentence = _("This is more than the whole circuit holds: check number and unit.")
        limit = f"≤ {context.shown(context.oil_m3, Kind.VOLUME)}"
        found.append(warning("more_than_the_circuit", sentence, limit, COMMON_PRACTICE))
    return found
