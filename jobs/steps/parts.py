"""Parts replaced, and what the drained oil tells about the oil to add."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps import condenser
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, Output, good, note, percent, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import long_text, oil_volume, yes_no
from jobs.steps.recovered import recovered_kg
from jobs.steps.trouble_codes import trouble_codes
from jobs.steps.values import Values
from shopcool.engineering.diagnosis import CompressorGate, compressor_gate
from shopcool.engineering.quantities import Kind

#: Charge as a share of the label outside of which a compressor was perhaps blamed for its charge.
ORDINARY_SHARE = (0.85, 1.1)
#: The field that stands for what must come first.
_FIELD_OF = {"airflow": "airflow_checked"}

FIELDS = (
    long_text("parts", gettext_lazy("Parts replaced")),
    yes_no("compressor", gettext_lazy("The compressor is among them")),
    yes_no(
        "airflow_checked",
        gettext_lazy("Air through the condenser was checked before"),
        help=gettext_lazy("Most returned compressors had no fault of their own."),
    ).when("compressor", "yes"),
    *condenser.FIELDS,
    oil_volume(
        "drained_oil",
        gettext_lazy("Oil drained from the old parts"),
        help=gettext_lazy("Leave empty if nobody measured it: unknown is not zero."),
    ).optional(),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return what was replaced. A compressor only goes when charge and airflow are on record."""
    findings = [
        note(
            "oil_by_maker",
            _("How much oil belongs to a new part stands in the vehicle maker's data."),
            source=COMMON_PRACTICE,
        )
    ]
    outputs = []
    if values.yes("compressor"):
        gate = _gate(values, context)
        findings += _compressor(gate, context)
        outputs.append(_share(gate))
    findings += condenser.condenser_findings(values, context)
    drained = values.si("drained_oil")
    shown = _("not measured") if drained is None else context.shown(drained, Kind.VOLUME)
    outputs.append(Output("drained_oil", _("Drained oil"), drained, shown, Kind.VOLUME))
    return Answer(Outcome.DONE, findings=tuple(findings), outputs=tuple(outputs))


def _gate(values: Values, context: StepContext) -> CompressorGate:
    """Return the gate when it is open; raises ValuesInvalid with everything that must come first."""
    gate = compressor_gate(
        recovered_kg=_recovered_kg(context),
        label_kg=context.case.facts.charge_kg,
        airflow_checked=values.yes("airflow_checked"),
    )
    wrong: dict[str, list[str]] = {}
    for missing in gate.missing:
        wrong.setdefault(_FIELD_OF.get(missing.code, "compressor"), []).append(_missing()[missing.code])
    if _is_unmeasured(context):
        sentence = _("No compressor is replaced for an isolation code before its insulation was measured.")
        wrong.setdefault("compressor", []).append(sentence)
    if wrong:
        raise ValuesInvalid(wrong)
    return gate


def _is_unmeasured(context: StepContext) -> bool:
    """Whether an isolation code is stored, and nobody has measured the insulation on this visit."""
    label = context.latest(StepKind.LABEL)
    codes = trouble_codes(label.text("fault_codes")) if label else ()
    return any(code.is_isolation for code in codes) and context.latest(StepKind.INSULATION) is None


def _missing() -> dict[str, str]:
    return {
        "recovered": _("No compressor is replaced before the charge was recovered and weighed."),
        "label": _("No compressor is replaced before the label charge is entered on the vehicle's page."),
        "airflow": _("No compressor is replaced before the air through the condenser was checked."),
    }


def _recovered_kg(context: StepContext) -> float | None:
    """Return what was recovered on this visit; nothing was in a circuit that was found empty."""
    pulls = [record.values for record in context.earlier if record.kind is StepKind.RECOVERY]
    if pulls:
        return sum(recovered_kg(values) for values in pulls)
    return 0.0 if context.case.is_empty else None


def _compressor(gate: CompressorGate, context: StepContext) -> list[Finding]:
    found = [_charge(gate)]
    if context.case.facts.is_high_voltage:
        sentence = _("A new high-voltage compressor comes with its own oil: use no other class or grade.")
        found.append(warning("compressor_oil", sentence, source=COMMON_PRACTICE))
    return found


def _charge(gate: CompressorGate) -> Finding:
    low, high = ORDINARY_SHARE
    limit = f"{percent(low)} – {percent(high)}"
    if gate.charge_share is not None and not low <= gate.charge_share <= high:
        sentence = _("The charge was %(share)s of the label: charge by weight and read again first.")
        return warning("charge_first", sentence % {"share": percent(gate.charge_share)}, limit, gate.source)
    return good("charge_and_airflow", _("Charge and airflow were checked first."), limit, gate.source)


def _share(gate: CompressorGate) -> Output:
    share = gate.charge_share
    shown = _("not known") if share is None else percent(share)
    return Output("charge_share", _("Recovered, of the label charge"), share, shown)
