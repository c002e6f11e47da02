"""Closing purge: nobody fills it in; the line purges of the pieces decide it."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.procedure import Outcome
from jobs.steps.answers import Answer, good, refusal
from jobs.steps.context import StepContext
from jobs.steps.fields import FieldSpec
from jobs.steps.values import Values

FIELDS: tuple[FieldSpec, ...] = ()


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return whether every piece that was on the vehicle, and can be purged, was purged since."""
    due = context.case.progress.purges_due
    if not due:
        return Answer(Outcome.DONE, findings=(good("purged", _("Every piece was purged since it left.")),))
    sentence = _("Without a line purge since they left this vehicle: %(pieces)s.") % {
        "pieces": ", ".join(due)
    }
    return Answer(Outcome.NOT_DONE, satisfied=False, findings=(refusal("purge_due", sentence),))
