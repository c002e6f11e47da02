"""What readings before and after share: how a pair of pressures is judged at rest and while running."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.steps.answers import Finding, Output
from jobs.steps.context import StepContext
from jobs.steps.gauges import RUNNING
from jobs.steps.running import running
from jobs.steps.sensor import sensor_findings
from jobs.steps.standing import standing
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind


def is_running(values: Values) -> bool:
    """Whether the system ran while the reading was taken."""
    return values.text("state") == RUNNING


def judged(
    values: Values, context: StepContext, *, after_charge: bool
) -> tuple[list[Finding], tuple[Output, ...]]:
    """Return findings and derived values of a reading; both pressures also as absolute ones."""
    if is_running(values):
        findings, outputs = running(values, context, after_charge=after_charge)
    else:
        findings, outputs = standing(values, context)
    findings += sensor_findings(values, context)
    return findings, (*_absolute(values, context), *outputs)


def _absolute(values: Values, context: StepContext) -> tuple[Output, ...]:
    labels = (("low", _("Low side, absolute")), ("high", _("High side, absolute")))
    return tuple(
        Output(
            name,
            label,
            values.si(name),
            context.shown(values.needed(name), Kind.PRESSURE, basis="absolute"),
            Kind.PRESSURE,
            basis="absolute",
        )
        for name, label in labels
    )
