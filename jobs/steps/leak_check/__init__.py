"""Leak check: a search with what it can see, or a hold under nitrogen before the charge."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.errors import ValuesInvalid
from jobs.steps.answers import Answer
from jobs.steps.context import StepContext
from jobs.steps.leak_check.fields import DYE, ELECTRONIC, FIELDS, HOLD, TRACE_GAS
from jobs.steps.leak_check.hold import hold_answer
from jobs.steps.leak_check.search import search_answer
from jobs.steps.values import Values

__all__ = ["FIELDS", "evaluate"]


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return whether a leak was found; not finding one is no proof that there is none."""
    _check_content(values.text("method"), context)
    if values.text("method") == HOLD:
        return hold_answer(values, context)
    return search_answer(values, context)


def _check_content(method: str, context: StepContext) -> None:
    """Refuse a method that needs an empty circuit where refrigerant is in it, and the other way round."""
    empty = context.case.is_empty
    if method in {HOLD, TRACE_GAS} and not empty:
        sentence = _("There is refrigerant in the circuit: recover it before nitrogen or trace gas goes in.")
        raise ValuesInvalid({"method": [sentence]})
    if method in {ELECTRONIC, DYE} and empty:
        sentence = _(
            "There is no refrigerant in the circuit that could come out: use nitrogen, trace gas or foam, or "
            "search after the charge."
        )
        raise ValuesInvalid({"method": [sentence]})
