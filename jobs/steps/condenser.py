"""A replaced condenser: where the desiccant is now, and whether charge and oil still hold for it.

Condensers of several generations bolt up to one car: with the drier inside, with a bottle of its own beside
them, or for a circuit that dries in its accumulator. A wrong pair leaves none, or two.
"""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.oil.words import oil_words
from jobs.choices import StepKind
from jobs.steps.answers import COMMON_PRACTICE, Finding, good, note, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import choice, text, yes_no
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind
from shopcool.vehicles.choices import Metering

INTEGRAL, BOTTLE, ACCUMULATOR, NOT_KNOWN = "INTEGRAL", "BOTTLE", "ACCUMULATOR", "NOT_KNOWN"
SAME, OTHER = "SAME", "OTHER"

FIELDS = (
    yes_no("condenser", gettext_lazy("The condenser is among them")),
    choice(
        "condenser_type",
        gettext_lazy("The new condenser"),
        (
            (SAME, gettext_lazy("has the type of the old one")),
            (OTHER, gettext_lazy("is of another type")),
            (NOT_KNOWN, gettext_lazy("nobody has compared them")),
        ),
        help=gettext_lazy("By part number and model year: that it bolts up proves nothing."),
    ).when("condenser", "yes"),
    choice(
        "desiccant",
        gettext_lazy("Where is the desiccant now?"),
        (
            (INTEGRAL, gettext_lazy("inside the condenser")),
            (BOTTLE, gettext_lazy("in a receiver bottle of its own")),
            (ACCUMULATOR, gettext_lazy("in the accumulator")),
            (NOT_KNOWN, gettext_lazy("not known")),
        ),
    ).when("condenser", "yes"),
    yes_no(
        "label_confirmed",
        gettext_lazy("Charge and oil were confirmed again"),
        help=gettext_lazy("In the vehicle maker's data for this model year with this condenser."),
    ).when("condenser_type", OTHER, NOT_KNOWN),
    text(
        "label_confirmed_in",
        gettext_lazy("Where they stand"),
        help=gettext_lazy("Document and page, or label."),
    ).when("label_confirmed", "yes"),
)


def condenser_findings(values: Values, context: StepContext) -> list[Finding]:
    """Return what the answers about a new condenser mean; nothing when none was fitted."""
    if not values.yes("condenser"):
        return []
    return [*_desiccant(values, context), *_label(values, context)]


def open_questions(context: StepContext) -> list[Finding]:
    """Return what earlier answers of this visit about a condenser leave open, told before the charge."""
    values = context.latest(StepKind.PARTS)
    if values is None:
        return []
    return [one for one in condenser_findings(values, context) if one.code in _OPEN]


_OPEN = frozenset({"desiccant_unknown", "label_not_confirmed"})


def _desiccant(values: Values, context: StepContext) -> list[Finding]:
    place = values.text("desiccant")
    if place == NOT_KNOWN:
        sentence = _(
            "Not known is not fine: without a desiccant the circuit stays wet and the next compressor fails, "
            "too. Find out by part number before it is closed."
        )
        return [warning("desiccant_unknown", sentence, source=COMMON_PRACTICE)]
    sentence = _("A drier that stood open, or has done its years, is renewed with the part.")
    found = [note("desiccant_renewed", sentence, source=COMMON_PRACTICE)]
    dries_in_accumulator = context.metering is Metering.ORIFICE_TUBE
    if context.metering is Metering.UNKNOWN or dries_in_accumulator == (place == ACCUMULATOR):
        return found
    if dries_in_accumulator:
        sentence = _("A circuit with an orifice tube dries in its accumulator: compare the parts again.")
    else:
        sentence = _("A circuit with an expansion valve dries on its high side: compare the parts again.")
    return [warning("desiccant_elsewhere", sentence, source=COMMON_PRACTICE), *found]


def _label(values: Values, context: StepContext) -> list[Finding]:
    if values.text("condenser_type") == SAME:
        return []
    if values.yes("label_confirmed"):
        source = values.text("label_confirmed_in")
        return [good("label_confirmed", _("Charge and oil hold for the new condenser, too."), source=source)]
    sentence = _(
        "Another condenser may ask for another charge and another oil amount: confirm them before anything "
        "goes in. On record: %(charge)s, %(oil)s."
    )
    words = {"charge": _charge(context), "oil": _oil(context)}
    return [warning("label_not_confirmed", sentence % words, source=COMMON_PRACTICE)]


def _charge(context: StepContext) -> str:
    charge = context.case.facts.charge_kg
    return _("charge not known") if charge is None else context.shown(charge, Kind.MASS)


def _oil(context: StepContext) -> str:
    oil = oil_words(context.case.facts.lubricant, context.lubricant_grade)
    if context.oil_m3 is None:
        return _("%(oil)s, amount not known") % {"oil": oil}
    return f"{context.shown(context.oil_m3, Kind.VOLUME)} {oil}"
