"""Insulation test of the compressor or of an oil sample: nothing passes by default."""

from __future__ import annotations

from jobs.steps.answers import Answer
from jobs.steps.context import StepContext
from jobs.steps.insulation import component, sample
from jobs.steps.insulation.fields import FIELDS, OIL_SAMPLE
from jobs.steps.values import Values

__all__ = ["FIELDS", "evaluate"]


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return what the test says about the compressor, or about the oil that came out of it."""
    if values.text("test") == OIL_SAMPLE:
        return sample.evaluate(values, context)
    return component.evaluate(values, context)
