"""Label and complaint: what the vehicle says about itself, and what the customer says."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, good, note, refusal, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import choice, long_text, multi, text
from jobs.steps.isolation import ISOLATION_FIELDS, code_findings
from jobs.steps.values import Values
from shopcool.vehicles.choices import Additive

READ, DIFFERS, MISSING = "READ", "DIFFERS", "MISSING"

FIELDS = (
    choice(
        "label",
        gettext_lazy("Label on the vehicle"),
        (
            (READ, gettext_lazy("Read, and it agrees with the data above")),
            (DIFFERS, gettext_lazy("Read, and it differs")),
            (MISSING, gettext_lazy("Missing or unreadable")),
        ),
        help=gettext_lazy(
            "Refrigerant, charge and oil follow the label and the drive, never the word hybrid."
        ),
    ),
    long_text("difference", gettext_lazy("What differs")).when("label", DIFFERS),
    text(
        "data_source",
        gettext_lazy("Where the data comes from"),
        help=gettext_lazy("The vehicle maker's document that replaces the label."),
    ).when("label", MISSING),
    long_text("complaint", gettext_lazy("What the customer says")).optional(),
    text(
        "fault_codes", gettext_lazy("Fault codes"), help=gettext_lazy("With their sub-codes: P0AA6-526.")
    ).optional(),
    *ISOLATION_FIELDS,
    text("odometer", gettext_lazy("Odometer")).optional(),
    multi(
        "additives",
        gettext_lazy("Signs of additives"),
        tuple((additive.value, additive.label) for additive in Additive),
        help=gettext_lazy("Stickers, coloured stains, a sealer test."),
    ),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return whether the data of the vehicle can be relied on, and what its additives mean."""
    findings = [*_label(values), *_additives(values, context), *code_findings(values, context)]
    if context.case.facts.charge_kg is None:
        findings.append(
            note(
                "label_charge_unknown",
                _("The label charge is not known: the charge will wait until it is entered."),
            )
        )
    differs = values.text("label") == DIFFERS
    outcome = Outcome.MISMATCH if differs else Outcome.MATCHES
    return Answer(outcome, satisfied=not differs, findings=tuple(findings))


def _label(values: Values) -> list[Finding]:
    if values.text("label") == DIFFERS:
        sentence = _(
            "The label differs: correct the data on the vehicle's page, then record the label again."
        )
        return [refusal("label_differs", sentence, source=COMMON_PRACTICE)]
    if values.text("label") == MISSING:
        sentence = _("There is no label: everything rests on %(source)s.") % {
            "source": values.text("data_source")
        }
        return [warning("label_missing", sentence, source=COMMON_PRACTICE)]
    return [good("label_agrees", _("The label agrees with the data of the vehicle."))]


def _additives(values: Values, context: StepContext) -> list[Finding]:
    found = []
    if Additive.DYE in values.many("additives") and context.case.facts.is_high_voltage:
        sentence = _("Leak dye often carries PAG or solvent: measure the insulation of the compressor.")
        found.append(warning("dye_in_high_voltage", sentence, source=COMMON_PRACTICE))
    if Additive.SEALER in values.many("additives"):
        sentence = _(
            "Leak sealer hardens inside machines and hoses: test for it before anything is connected."
        )
        found.append(warning("sealer_suspected", sentence, source=COMMON_PRACTICE))
    return found
