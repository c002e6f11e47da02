"""Evacuation and vacuum hold: absolute pressures against the air of this workshop.

Two readings are a gross check. Readings over time tell a leak from moisture, as far as they can.
"""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext as _

from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import Answer, Finding, Tone
from jobs.steps.context import StepContext
from jobs.steps.evacuation.fields import FIELDS, NEEDLE
from jobs.steps.evacuation.gross import gross_check
from jobs.steps.evacuation.readings import curve_of, ends_of
from jobs.steps.evacuation.shape import Shape, shape_of
from jobs.steps.values import Values

__all__ = ["FIELDS", "evaluate"]

#: Half an inch of mercury: the finest division of a needle gauge [Pa] (common practice).
NEEDLE_STEP_PA = 1693.19


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return whether the vacuum held, and what the shape of its rise says when it was followed."""
    context = context.under(values.si("barometer"))
    _check_gauge(values)
    curve = curve_of(values, context)
    ends = ends_of(values, curve)
    answer = gross_check(values, ends, context)
    if curve is None:
        return answer
    return _with_shape(answer, shape_of(values, curve, context))


def _check_gauge(values: Values) -> None:
    """Refuse an absolute pressure that no needle can show."""
    if values.text("gauge") != NEEDLE:
        return
    wrong = {}
    for name in ("start", "end"):
        reading = values.quantity(name)
        if reading is not None and reading.basis == "absolute" and reading.si < NEEDLE_STEP_PA:
            wrong[name] = [
                _(
                    "A needle gauge can't show this: it is less than half an inch of mercury, 17 mbar, its "
                    "finest division. Type what the needle shows as vacuum, or choose the electronic gauge."
                )
            ]
    if wrong:
        raise ValuesInvalid(wrong)


def _with_shape(answer: Answer, shape: Shape) -> Answer:
    """Return the gross check with what the shape adds: it may take a hold back, never grant one."""
    held = answer.outcome is Outcome.HELD
    stopped = any(finding.tone is Tone.REFUSAL for finding in shape.findings)
    ends = tuple(
        replace(one, tone=Tone.NOTE) if stopped and one.tone is Tone.GOOD else one for one in answer.findings
    )
    findings: tuple[Finding, ...] = (*shape.findings, *ends)
    return replace(
        answer,
        outcome=Outcome.NOT_HELD if stopped else answer.outcome,
        satisfied=held and not stopped,
        findings=findings,
        outputs=(*answer.outputs, *shape.outputs),
        plots=shape.plots,
    )
