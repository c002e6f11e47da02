"""Readings after: how the circuit works with its charge."""

from __future__ import annotations

from jobs.procedure import Outcome
from jobs.steps.answers import Answer
from jobs.steps.context import StepContext
from jobs.steps.gauges import GAUGE_FIELDS
from jobs.steps.readings import is_running, judged
from jobs.steps.values import Values

FIELDS = GAUGE_FIELDS


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return static or running, with what the readings say about the circuit and its charge."""
    findings, outputs = judged(values, context, after_charge=True)
    outcome = Outcome.RUNNING if is_running(values) else Outcome.STATIC
    return Answer(outcome, findings=tuple(findings), outputs=outputs)
