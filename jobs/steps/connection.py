"""Clearance and connection: written by the connection itself, so that the record of the job tells it."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs.procedure import Outcome
from jobs.steps.answers import Answer, good, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import long_text, text
from jobs.steps.values import Values

FIELDS = (
    text("pieces", gettext_lazy("Pieces")),
    text("clearance", gettext_lazy("Clearance")),
    long_text("override_reason", gettext_lazy("Owner's reason against the refusal")).optional(),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return that the pieces are on the vehicle; an owner's override stands on every report."""
    if not values.has("override_reason"):
        finding = good("cleared", _("Cleared and connected: %(pieces)s.") % {"pieces": values.text("pieces")})
        return Answer(Outcome.DONE, findings=(finding,))
    sentence = _("Connected against a refusal on the owner's responsibility: %(reason)s")
    finding = warning("overridden", sentence % {"reason": values.text("override_reason")})
    return Answer(Outcome.DONE, findings=(finding,))
