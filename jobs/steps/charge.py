"""Charge: weighed against the label and its tolerance, with the hoses counted."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, Output, good, note, percent, refusal, warning
from jobs.steps.condenser import open_questions
from jobs.steps.context import StepContext
from jobs.steps.fields import FieldSpec, choice, mass, piece, quantity, text
from jobs.steps.hoses import BY_MACHINE, COMPUTED, NOT_KNOWN, TYPED
from jobs.steps.kept import SMALL_CHARGE_KG, Kept, kept_of, kept_on_record
from jobs.steps.leak_check.before_charge import search_findings
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind

#: Certified machines charge within this [kg]; used where the label gives no tolerance.
MACHINE_TOLERANCE_KG = 0.015
TOLERANCE_SOURCE = "SAE J2788 section 9.1: within 15 g of the chosen amount"

FIELDS = (
    piece("machine", gettext_lazy("Machine"), PieceKind.MACHINE),
    mass("mass", gettext_lazy("Charged refrigerant")),
    choice(
        "hoses",
        gettext_lazy("Content of the hoses"),
        (
            (BY_MACHINE, gettext_lazy("the machine allows for it")),
            (TYPED, gettext_lazy("it stayed in the hoses; the amount was weighed")),
            (COMPUTED, gettext_lazy("they stay full of liquid; length and bore follow")),
            (NOT_KNOWN, gettext_lazy("not known")),
        ),
        help=gettext_lazy("The owner can enter this once on the pages of the hoses and the machine."),
    ).optional(),
    mass("hose_content", gettext_lazy("Left in the hoses")).when("hoses", TYPED),
    quantity(
        "hose_length",
        gettext_lazy("Length of the hoses together"),
        Kind.LENGTH,
        unit="m",
        limits=(0.1, 30.0),
        sentence=gettext_lazy("Service hoses are 10 cm to 30 m long: check number and unit."),
    ).when("hoses", COMPUTED),
    quantity(
        "hose_bore",
        gettext_lazy("Bore of the hoses"),
        Kind.LENGTH,
        unit="mm",
        limits=(5e-4, 0.03),
        sentence=gettext_lazy("The bore of a service hose is 0.5 to 30 mm: this may be the outer diameter."),
        help=gettext_lazy("Inside. The bore decides: weigh the content once and you know better."),
    ).when("hoses", COMPUTED),
    text(
        "reason", gettext_lazy("Why the charge differs from the label, or the hoses are not known")
    ).optional(),
)


_ABOUT_HOSES = frozenset({"hoses", "hose_content", "hose_length", "hose_bore"})


def asked(context: StepContext) -> tuple[FieldSpec, ...]:
    """Return the fields a form shows: what the pages of the connected pieces settle is not asked again."""
    machines = [one for one in context.pieces if one.kind is PieceKind.MACHINE and one.connected]
    if not machines or any(kept_on_record(one, context) is None for one in machines):
        return FIELDS
    return tuple(spec for spec in FIELDS if spec.name not in _ABOUT_HOSES)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return whether the charge agrees with the label; a deviation needs a reason."""
    label = context.case.facts.charge_kg
    if label is None:
        raise ValuesInvalid(
            {"mass": [_("The label charge is not known: enter it on the vehicle's page first.")]}
        )
    kept = kept_of(values, context)
    total = context.charged_before_kg + _net(values, label, kept)
    verdict = _against_label(total, label, values, context)
    within = verdict.code == "charge_agrees"
    findings = [verdict, *kept.findings, *_tolerances(values, context), *_high_voltage(context)]
    findings += [*open_questions(context), *search_findings(context)]
    outcome = Outcome.IN_TOLERANCE if within else Outcome.OUT_OF_TOLERANCE
    satisfied = within or bool(values.text("reason"))
    return Answer(outcome, satisfied, tuple(findings), _outputs(total, label, kept, context))


def target_sentence(values: Values, context: StepContext) -> str:
    """Return how much to weigh in, from what is known before the charge; empty while it is not."""
    label = context.case.facts.charge_kg
    kept = kept_of(values, context)
    if label is None or kept.doubt:
        return ""
    words = {
        "target": context.shown(_target(label, kept, context), Kind.MASS),
        "label": context.shown(label, Kind.MASS),
        "inside": context.shown(context.charged_before_kg, Kind.MASS),
        "hoses": context.shown(kept.kg, Kind.MASS),
    }
    if _target(label, kept, context) <= 0.0:
        return _("Nothing more goes in: %(inside)s is in the circuit, the label says %(label)s.") % words
    return (
        _(
            "Weigh in %(target)s: label %(label)s, less %(inside)s in the circuit, "
            "plus %(hoses)s in the hoses."
        )
        % words
    )


def _target(label: float, kept: Kept, context: StepContext) -> float:
    return label - context.charged_before_kg + kept.kg


def _high_voltage(context: StepContext) -> list[Finding]:
    facts = context.case.facts
    if not facts.is_high_voltage:
        return []
    voltage = "" if context.working_voltage_v is None else f" ({context.working_voltage_v:g} V)"
    sentence = _(
        "High-voltage compressor%(voltage)s: switch it on only when the circuit is charged and closed, and "
        "let no dye and no oil but %(oil)s go in with the charge."
    )
    words = {"voltage": voltage, "oil": facts.lubricant.label}
    return [note("high_voltage_charge", sentence % words, source=COMMON_PRACTICE)]


def tolerance_of(values: Values, context: StepContext) -> float:
    """Return the label's tolerance, else the machine's own, else that of certified machines [kg]."""
    if context.tolerance_kg is not None:
        return context.tolerance_kg
    machine = context.piece(values.number("machine"))
    own = machine.weighing.tolerance_kg if machine else None
    return MACHINE_TOLERANCE_KG if own is None else own


def _tolerances(values: Values, context: StepContext) -> list[Finding]:
    machine = context.piece(values.number("machine"))
    own = machine.weighing.tolerance_kg if machine else None
    if machine is None or own is None:
        if context.tolerance_kg is not None:
            return []
        sentence = _("The label gives no tolerance; that of certified machines was used.")
        return [note("tolerance_assumed", sentence, "± 15 g", TOLERANCE_SOURCE)]
    words = {"machine": machine.code, "tolerance": context.shown(own, Kind.MASS)}
    source = _("page of %(machine)s") % words
    if context.tolerance_kg is None:
        sentence = _("The label gives no tolerance; that of %(machine)s was used.") % words
        return [note("tolerance_of_machine", sentence, f"± {words['tolerance']}", source)]
    if own <= context.tolerance_kg:
        return []
    sentence = _(
        "%(machine)s is only within %(tolerance)s, the label asks for less: weigh with a finer scale."
    )
    limit = f"± {context.shown(context.tolerance_kg, Kind.MASS)}"
    return [warning("scale_too_coarse", sentence % words, limit, source)]


def _net(values: Values, label: float, kept: Kept) -> float:
    if not values.text("hoses") and kept.doubt:
        raise ValuesInvalid({"hoses": [kept.doubt]})
    if kept.doubt and label < SMALL_CHARGE_KG and not values.text("reason"):
        sentence = _(
            "%(doubt)s With a label charge below 500 g the content of the hoses decides: find it out first, "
            "or say why it can't be known."
        )
        raise ValuesInvalid({"hoses": [sentence % {"doubt": kept.doubt}]})
    net = values.needed("mass") - kept.kg
    if net < 0.0:
        field = {TYPED: "hose_content", COMPUTED: "hose_length"}.get(values.text("hoses"), "mass")
        raise ValuesInvalid({field: [_("More can't stay in the hoses than was charged.")]})
    return net


def _against_label(total: float, label: float, values: Values, context: StepContext) -> Finding:
    tolerance = tolerance_of(values, context)
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


def _outputs(total: float, label: float, kept: Kept, context: StepContext) -> tuple[Output, ...]:
    target = _target(label, kept, context)
    return (
        Output("total", _("In the circuit"), total, context.shown(total, Kind.MASS), Kind.MASS),
        Output("of_label", _("Of the label charge"), total / label, percent(total / label)),
        _to_weigh_in(target, context),
        Output("kept", _("Kept by the hoses"), kept.kg, context.shown(kept.kg, Kind.MASS), Kind.MASS),
    )


def _to_weigh_in(target: float, context: StepContext) -> Output:
    """Return how much was to be weighed in; where more than the label is in already, nothing was."""
    label = _("To be weighed in")
    if target >= 0.0:
        return Output("target", label, target, context.shown(target, Kind.MASS), Kind.MASS)
    text = _("nothing: %(mass)s more than the label was in") % {"mass": context.shown(-target, Kind.MASS)}
    return Output("target", label, target, text)
