"""What is missing since the last charge on record, with its uncertainty: a balance, no diagnosis."""

from __future__ import annotations

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.steps.answers import Finding, Output, note, warning
from jobs.steps.context import Past, StepContext
from jobs.steps.recovered import RECOVERED_ACCURACY_KG
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import Kind
from shopcool.engineering.recovery import (
    COVERAGE,
    TYPE_APPROVAL_KG_YEAR,
    Loss,
    LossVerdict,
    loss_per_year,
)

#: Half widths of a charge that was weighed in, and of a weight that was recovered [kg].
CHARGE_TOLERANCE_KG = 0.015
SOURCE = "SAE J2788: charge within 15 g (9.1), recovered weight within 30 g (7.1.3); GUM, k = 2"
TYPE_APPROVAL_SOURCE = "Regulation (EC) 706/2007: 40 g a year with one evaporator, 60 g with two"
DAYS_OF_A_YEAR = 365.25


def missing(recovered_kg: float, context: StepContext) -> tuple[list[Finding], tuple[Output, ...]]:
    """Return what is missing against the last charge on record, nothing when there is none."""
    before = last_charge(context)
    if before is None:
        sentence = _("No earlier charge of this circuit is on record: a loss over time can't be told.")
        return [note("no_earlier_charge", sentence)], ()
    loss = loss_since(recovered_kg, before, context)
    if loss is None:
        return [], ()
    return _findings(loss), _outputs(loss, before, context)


def last_charge(context: StepContext) -> Past | None:
    """Return the newest charge of an earlier visit."""
    charges = [past for past in context.history if past.kind is StepKind.CHARGE]
    return charges[-1] if charges else None


def loss_since(recovered_kg: float, before: Past, context: StepContext) -> Loss | None:
    """Return the loss since a charge, None where weights or dates do not allow one."""
    total = before.answer.output("total")
    if total is None or total.si is None:
        return None
    try:
        return loss_per_year(
            total.si,
            recovered_kg,
            years=(context.today - before.at.date()).days / DAYS_OF_A_YEAR,
            start_tolerance_kg=CHARGE_TOLERANCE_KG,
            scale_accuracy_kg=RECOVERED_ACCURACY_KG,
        )
    except Refusal:
        return None


def surely_lost_kg_year(loss: Loss) -> float:
    """Return what is lost per year at least, with the uncertainty taken off [kg/year]."""
    return loss.loss_kg_year - loss.expanded_kg_year


def _findings(loss: Loss) -> list[Finding]:
    tone = warning if loss.verdict is LossVerdict.MISSING else note
    found = [tone(f"loss_{loss.verdict.value}", loss.sentence, source=SOURCE)]
    if surely_lost_kg_year(loss) > TYPE_APPROVAL_KG_YEAR:
        sentence = _(
            "More per year than a new vehicle may lose: search with a detector or with nitrogen before "
            "charging. A vacuum hold can't see this."
        )
        found.append(warning("above_type_approval", sentence, "≤ 40 g/year", TYPE_APPROVAL_SOURCE))
    return found


def _outputs(loss: Loss, before: Past, context: StepContext) -> tuple[Output, ...]:
    mass, uncertainty = (
        context.shown(value, Kind.MASS) for value in (loss.missing_kg, COVERAGE * loss.missing_standard_kg)
    )
    since = date_format(before.at.date(), "SHORT_DATE_FORMAT")
    text = _("%(mass)s ± %(uncertainty)s since %(date)s")
    words = {"mass": mass, "uncertainty": uncertainty, "date": since}
    yearly = _("%(loss).0f ± %(uncertainty).0f g/year") % {
        "loss": loss.loss_kg_year * 1e3,
        "uncertainty": loss.expanded_kg_year * 1e3,
    }
    return (
        Output("missing", _("Missing since the last charge"), loss.missing_kg, text % words),
        Output("loss", _("Per year"), loss.loss_kg_year, yearly),
    )
