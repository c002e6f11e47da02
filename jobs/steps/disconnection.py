"""Disconnection: written when pieces leave the vehicle."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs.procedure import Outcome
from jobs.steps.answers import Answer, note
from jobs.steps.context import StepContext
from jobs.steps.fields import text
from jobs.steps.values import Values

FIELDS = (text("pieces", gettext_lazy("Pieces")),)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return that the pieces are off the vehicle."""
    finding = note("disconnected", _("Disconnected: %(pieces)s.") % {"pieces": values.text("pieces")})
    return Answer(Outcome.DONE, findings=(finding,))
