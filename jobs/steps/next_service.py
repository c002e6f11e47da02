"""When the vehicle should come again: after the usual time, or earlier when refrigerant goes missing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.steps.answers import SHOP_POLICY, Finding, note, warning
from jobs.steps.context import StepContext
from jobs.steps.missing import CHARGE_TOLERANCE_KG, DAYS_OF_A_YEAR, SOURCE, last_charge, loss_since
from jobs.steps.recovered import recovered_kg
from shopcool.core.months import add_months
from shopcool.engineering.quantities import Kind
from shopcool.engineering.recovery import Loss, LossVerdict

#: Nobody is called back sooner than this.
SOONEST = timedelta(days=30)


@dataclass(frozen=True)
class Proposal:
    """A day for the next service with its reason in plain words."""

    day: date
    sentence: str
    source: str


def proposal(context: StepContext) -> Proposal:
    """Return when the vehicle should come again, and why."""
    usual = add_months(context.today, context.policy.next_service_months)
    loss = _measured(context)
    if loss is None or loss.verdict is not LossVerdict.MISSING:
        return _usual(usual, loss, context)
    reserve = CHARGE_TOLERANCE_KG if context.tolerance_kg is None else context.tolerance_kg
    days = round(reserve / loss.loss_kg_year * DAYS_OF_A_YEAR)
    sooner = max(context.today + timedelta(days=days), context.today + SOONEST)
    if sooner >= usual:
        return _usual(usual, loss, context)
    sentence = _(
        "Since the last charge about %(loss).0f g a year went missing. If that goes on, the charge is more "
        "than %(reserve)s below the label from %(day)s: come back by then, even if it still cools."
    )
    words = {
        "loss": loss.loss_kg_year * 1e3,
        "reserve": context.shown(reserve, Kind.MASS),
        "day": date_format(sooner),
    }
    return Proposal(sooner, sentence % words, SOURCE)


def proposal_findings(chosen: date, context: StepContext) -> list[Finding]:
    """Return the proposal in words, and whether the chosen day lies behind it."""
    proposed = proposal(context)
    found = [note("next_service", proposed.sentence, source=proposed.source)]
    if chosen > proposed.day:
        sentence = _("The chosen day lies behind the proposed one, %(day)s.")
        limit = f"≤ {date_format(proposed.day)}"
        found.append(
            warning(
                "later_than_proposed", sentence % {"day": date_format(proposed.day)}, limit, proposed.source
            )
        )
    return found


def _measured(context: StepContext) -> Loss | None:
    """Return the loss that the recoveries of this visit show against the last charge."""
    before = last_charge(context)
    pulls = [record.values for record in context.earlier if record.kind is StepKind.RECOVERY]
    if before is None or not pulls:
        return None
    return loss_since(sum(recovered_kg(values) for values in pulls), before, context)


def _usual(day: date, loss: Loss | None, context: StepContext) -> Proposal:
    words = {"months": context.policy.next_service_months, "day": date_format(day)}
    if loss is None:
        sentence = _(
            "The usual %(months)d months, until %(day)s: no loss over time could be measured on this visit."
        )
    elif loss.verdict is LossVerdict.MISSING:
        sentence = _(
            "The usual %(months)d months, until %(day)s: at the measured loss the charge lasts longer."
        )
    else:
        sentence = _("The usual %(months)d months, until %(day)s: no loss beyond the error of the scales.")
    return Proposal(day, sentence % words, SHOP_POLICY)
