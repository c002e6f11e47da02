"""Parts replaced, and what the drained oil tells about the oil to add."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Output, note, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import long_text, oil_volume, yes_no
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind

FIELDS = (
    long_text("parts", gettext_lazy("Parts replaced")),
    yes_no("compressor", gettext_lazy("The compressor is among them")),
    yes_no(
        "airflow_checked",
        gettext_lazy("Fan, airflow and charge were checked before"),
        help=gettext_lazy("Most returned compressors had no fault of their own."),
    ).when("compressor", "yes"),
    oil_volume(
        "drained_oil",
        gettext_lazy("Oil drained from the old parts"),
        help=gettext_lazy("Leave empty if nobody measured it: unknown is not zero."),
    ).optional(),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return what was replaced; the vehicle maker's oil table decides what the new parts take."""
    findings = [
        note(
            "oil_by_maker",
            _("How much oil belongs to a new part stands in the vehicle maker's data."),
            source=COMMON_PRACTICE,
        )
    ]
    if values.yes("compressor") and not values.yes("airflow_checked"):
        sentence = _("Airflow and charge come before a compressor is condemned; they were not checked.")
        findings.append(warning("compressor_without_checks", sentence, source=COMMON_PRACTICE))
    if values.yes("compressor") and context.case.facts.is_high_voltage:
        sentence = _("A new high-voltage compressor comes with its own oil: use no other class or grade.")
        findings.append(warning("compressor_oil", sentence, source=COMMON_PRACTICE))
    drained = values.si("drained_oil")
    shown = _("not measured") if drained is None else context.shown(drained, Kind.VOLUME)
    outputs = (Output("drained_oil", _("Drained oil"), drained, shown),)
    return Answer(Outcome.DONE, findings=tuple(findings), outputs=outputs)
