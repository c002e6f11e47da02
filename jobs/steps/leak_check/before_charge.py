"""Before a charge: whether a leak that the weights show was searched for, and one that was found repaired."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.procedure import Outcome
from jobs.steps.answers import Finding, warning
from jobs.steps.context import Earlier, StepContext
from jobs.steps.leak_check.fields import ELECTRONIC, TRACE_GAS
from jobs.steps.missing import TYPE_APPROVAL_SOURCE


def search_findings(context: StepContext) -> list[Finding]:
    """Return what speaks against charging this circuit now; a charge that ran already is not judged again."""
    checks = [record for record in context.earlier if record.kind is StepKind.LEAK_CHECK]
    return [*_not_searched(checks, context), *_not_repaired(checks, context)]


def _not_searched(checks: list[Earlier], context: StepContext) -> list[Finding]:
    """Return that more went missing than a tight circuit loses, while nobody searched finely enough."""
    losses = [record for record in context.earlier if record.kind is StepKind.RECOVERY and record.answer]
    newest = max(losses, key=lambda record: record.position, default=None)
    if newest is None or newest.answer is None or "above_type_approval" not in newest.answer.codes:
        return []
    if any(check.values.text("method") in {ELECTRONIC, TRACE_GAS} for check in checks):
        return []
    loss = newest.answer.output("loss")
    sentence = _(
        "%(loss)s went missing, and no search with a detector or trace gas is on record: charged now, it "
        "leaks again. Record one under “Leak check” and this is settled; a vacuum or nitrogen hold can't see "
        "such a leak."
    ) % {"loss": loss.text if loss else ""}
    return [warning("leak_not_searched", sentence, "≤ 40 g/year", TYPE_APPROVAL_SOURCE)]


def _not_repaired(checks: list[Earlier], context: StepContext) -> list[Finding]:
    newest = max(checks, key=lambda record: record.position, default=None)
    if newest is None or newest.outcome is not Outcome.LEAK_FOUND:
        return []
    if context.since(StepKind.PARTS, newest.position):
        return []
    sentence = _(
        "A leak was found on this visit and no repair is on record since: repair it and search again."
    )
    return [warning("leak_not_repaired", sentence, source=_("leak check of this visit"))]
