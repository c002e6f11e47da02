"""Readings after: how the circuit works with its charge."""

from __future__ import annotations

from jobs.procedure import Outcome
from jobs.steps.answers import Answer
from jobs.steps.context import StepContext
from jobs.steps.gauges import GAUGE_FIELDS, RUNNING, pair_findings, pair_outputs
from jobs.steps.values import Values

FIELDS = GAUGE_FIELDS


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return the readings as they are; what they mean for the cycle is computed elsewhere."""
    outcome = Outcome.RUNNING if values.text("state") == RUNNING else Outcome.STATIC
    findings = tuple(pair_findings(values, context))
    return Answer(outcome, findings=findings, outputs=pair_outputs(values, context))
