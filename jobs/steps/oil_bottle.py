"""The recovered-oil bottle at the start: this vehicle's oil must not be mixed up with the last one's."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, good, note, refusal, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import PieceScope, choice, oil_volume, piece, yes_no
from jobs.steps.values import Values
from shopcool.vehicles.choices import Lubricant

SOURCE = "SAE J2788 section 7.6: separated oil is measured"

FIELDS = (
    piece("machine", gettext_lazy("Machine"), PieceKind.MACHINE, scope=PieceScope.ANY),
    yes_no("emptied", gettext_lazy("Bottle emptied for this vehicle")),
    oil_volume("reading", gettext_lazy("Reading of the bottle")).when("emptied", "no"),
    choice(
        "oil",
        gettext_lazy("Oil in the bottle"),
        tuple((lubricant.value, lubricant.label) for lubricant in Lubricant),
    ).when("emptied", "no"),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return whether the oil of this vehicle can be told apart; other oil is a hard stop for high voltage."""
    before = _before(values, context)
    if values.yes("emptied"):
        empty = good("bottle_empty", _("The bottle starts empty."), source=SOURCE)
        return Answer(Outcome.DONE, findings=(*before, empty))
    own = context.case.facts.lubricant
    other = values.text("oil") != own or own is Lubricant.UNKNOWN
    if context.case.facts.is_high_voltage and other and values.needed("reading") > 0.0:
        sentence = _(
            "Oil of another class stands in the bottle of a machine for high voltage: empty it first."
        )
        finding = refusal("other_oil_in_bottle", sentence, source=COMMON_PRACTICE)
        return Answer(Outcome.NOT_DONE, satisfied=False, findings=(finding, *before))
    sentence = _("Recovered oil will be the end reading minus this one.")
    return Answer(Outcome.DONE, findings=(*before, note("bottle_read", sentence, source=SOURCE)))


def _before(values: Values, context: StepContext) -> tuple[Finding, ...]:
    """Return a warning when the job before on this machine left no oil figure."""
    job = context.oil.left_unread(values.number("machine") or 0)
    if not job:
        return ()
    sentence = _(
        "Job %(job)s, the last one on this machine, has no reading of the oil bottle at its end: its vehicle "
        "may be short of oil, and what stands in the bottle may be its oil. Read the bottle before you empty "
        "it, and correct that record."
    )
    return (warning("job_before_unread", sentence % {"job": job}, source=SOURCE),)


def start_reading_m3(values: Values | None) -> float | None:
    """Return what stood in the bottle before this vehicle [m³], None when nobody looked."""
    if values is None:
        return None
    return 0.0 if values.yes("emptied") else values.si("reading")
