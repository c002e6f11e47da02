"""Oil added: which oil, how much, and through which injector – or that none was added."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, Output, note, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import PieceScope, choice, oil_lot, oil_volume, piece, text, yes_no
from jobs.steps.oil_rule import balance_findings
from jobs.steps.oil_source import OilSource, refuse_more_than_held, source_findings, source_of
from jobs.steps.oil_total import assumptions, oil_total
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind, format_quantity
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
    text("grade", gettext_lazy("Grade on its container")).when("way", WITH_PART),
    oil_lot(
        "lot",
        gettext_lazy("Lot it came from"),
        help=gettext_lazy("So that this vehicle is found if the oil turns out bad."),
    )
    .when("way", WITH_PART)
    .optional(),
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
        added: tuple[Output, ...] = (Output("amount", _("Oil added"), 0.0, _("none")),)
    else:
        source = source_of(values, context)
        findings = [*source_findings(source, context), *_amount(values, context)]
        amount = values.needed("amount")
        refuse_more_than_held(source, amount, context)
        added = _added(amount, source, context)
    total, in_circuit = _total(values, context)
    return Answer(
        Outcome.DONE, findings=(*balance, *findings, *total), outputs=(*added, *by_rule, *in_circuit)
    )


def _added(amount_m3: float, source: OilSource, context: StepContext) -> tuple[Output, ...]:
    shown = context.shown(amount_m3, Kind.VOLUME)
    added = Output("amount", _("Oil added"), amount_m3, shown, Kind.VOLUME)
    density = source.density_kg_m3
    if density is None:
        return (added,)
    mass_kg = amount_m3 * density
    text = format_quantity(mass_kg, Kind.MASS, "g", digits=1)
    return (added, Output("added_mass", _("By weight, at the density of the lot"), mass_kg, text, Kind.MASS))


def _amount(values: Values, context: StepContext) -> list[Finding]:
    amount = values.needed("amount")
    if amount <= 0.0:
        raise ValuesInvalid({"amount": [_("An amount of nothing is no addition: say that none was added.")]})
    if context.oil_m3 is None or amount <= context.oil_m3:
        return []
    sentence = _("This is more than the whole circuit holds: check number and unit.")
    limit = f"≤ {context.shown(context.oil_m3, Kind.VOLUME)}"
    return [warning("more_than_the_circuit", sentence, limit, COMMON_PRACTICE)]


def _total(values: Values, context: StepContext) -> tuple[list[Finding], tuple[Output, ...]]:
    """Return the oil in the circuit over all visits, this one included, with what the estimate assumes."""
    this = _("this job")
    told = [(past.job_number, past.kind, past.values) for past in context.history]
    told += [(this, record.kind, record.values) for record in context.earlier]
    total = oil_total(context.oil_m3, [*told, (this, StepKind.OIL, values)])
    if not total.visits:
        return [], ()
    words = {
        "out": context.shown(total.removed_m3, Kind.VOLUME),
        "in": context.shown(total.added_m3, Kind.VOLUME),
        "assumed": " ".join(assumptions()),
    }
    sentence = _("Measured over all visits: %(out)s out, %(in)s in. Assumed: %(assumed)s") % words
    if total.unknown:
        sentence += " " + _("Not measured: %(what)s.") % {"what": "; ".join(total.unknown)}
    if total.estimate_m3 is None:
        return [note("oil_total", sentence)], ()
    shown = context.shown(total.estimate_m3, Kind.VOLUME)
    output = Output("oil_total", _("In the circuit, estimated"), total.estimate_m3, shown, Kind.VOLUME)
    return [note("oil_total", sentence)], (output,)
