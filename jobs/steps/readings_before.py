"""Readings before: is there pressure at all, and how does the circuit work as it came?"""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, warning
from jobs.steps.context import StepContext
from jobs.steps.gauges import GAUGE_FIELDS
from jobs.steps.identification import NO_PRESSURE_PA
from jobs.steps.readings import is_running, judged
from jobs.steps.values import Values

FIELDS = GAUGE_FIELDS


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return static, running, or no pressure: then recovery would feed air to the machine's tank."""
    findings, outputs = judged(values, context, after_charge=False)
    if is_running(values):
        return Answer(Outcome.RUNNING, findings=tuple(findings), outputs=outputs)
    highest = max(values.needed("low"), values.needed("high"))
    if highest - context.atmosphere_pa > NO_PRESSURE_PA:
        return Answer(Outcome.STATIC, findings=tuple(findings), outputs=outputs)
    sentence = _(
        "No pressure: do not recover, it would pull air into the machine's tank. Search the leak first."
    )
    limit = f"> {NO_PRESSURE_PA / 1000:g} kPa"
    findings.insert(0, warning("no_pressure", sentence, limit, COMMON_PRACTICE))
    return Answer(Outcome.NO_PRESSURE, findings=tuple(findings), outputs=outputs)
