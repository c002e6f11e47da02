"""The compressor, terminals to case: against the vehicle maker's limit, or without a verdict."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, Output, Tone, good, note, refusal, warning
from jobs.steps.context import StepContext
from jobs.steps.insulation.floor import floor_findings, floor_outputs
from jobs.steps.insulation.shown import ratio_outputs, reference_outputs, shown_only
from jobs.steps.insulation.tester import is_loaded, ohms, said, tester_findings, tester_outputs
from jobs.steps.insulation.trend import like_readings, trend_findings, trend_plots
from jobs.steps.values import Values
from shopcool.engineering.quantities import Quantity

VOLTAGE_SOURCE = "ISO 6469-3: the test voltage reaches the working voltage"


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return the verdict against the vehicle maker's limit, or none where nothing allows one."""
    reading, limit = _checked(values)
    too_low = _voltage(values, context)
    verdict: list[Finding] = []
    floor = floor_findings(reading, context)
    if is_loaded(values) or any(finding.tone is Tone.REFUSAL for finding in floor):
        outcome = Outcome.FAILED
    elif limit is None:
        outcome = Outcome.NO_VERDICT
        verdict = [note("no_limit", _("Without the vehicle maker's limit there is no verdict."))]
    else:
        outcome, finding = _compare(reading, limit, values.text("limit_source"), bool(too_low))
        verdict = [finding]
    alike = like_readings(values, context)
    findings = (
        *verdict,
        *tester_findings(values),
        *too_low,
        *floor,
        *trend_findings(alike, limit, context),
        *shown_only(values),
        *_circumstances(values),
    )
    outputs = (
        Output("resistance", _("Insulation resistance"), reading.si or None, said(reading)),
        *tester_outputs(values),
        *floor_outputs(context),
        *ratio_outputs(values),
        *reference_outputs(values),
    )
    return Answer(outcome, findings=findings, outputs=outputs, plots=trend_plots(alike, limit))


def _checked(values: Values) -> tuple[Quantity, float | None]:
    reading, limit = values.quantity("resistance"), values.quantity("limit")
    if reading is None:
        raise KeyError("resistance")
    if limit is None:
        return reading, None
    if limit.comparator:
        raise ValuesInvalid({"limit": [_("A limit is one number, without > or <.")]})
    if not values.text("limit_source"):
        raise ValuesInvalid({"limit_source": [_("Say where the vehicle maker's limit stands.")]})
    return reading, limit.si


def _voltage(values: Values, context: StepContext) -> list[Finding]:
    nominal, working = values.needed("nominal_voltage"), context.working_voltage_v
    if working is None or nominal >= working:
        return []
    sentence = _("%(nominal)g V can't clear a system that works at %(working)g V.")
    numbers = {"nominal": nominal, "working": working}
    return [warning("test_voltage_too_low", sentence % numbers, f"≥ {working:g} V", VOLTAGE_SOURCE)]


def _compare(reading: Quantity, limit: float, source: str, voltage_too_low: bool) -> tuple[Outcome, Finding]:
    shown = f"≥ {ohms(limit)}"
    above, below = reading.comparator == ">", reading.comparator == "<"
    if (not above and reading.si < limit) or (below and reading.si <= limit):
        sentence = _("The insulation is below the vehicle maker's limit.")
        return Outcome.FAILED, refusal("below_limit", sentence, shown, source)
    if below or (above and reading.si < limit):
        sentence = _(
            "The reading is a limit itself and can't be compared: the tester's range ends too early."
        )
        return Outcome.NO_VERDICT, note("range_too_small", sentence, shown, source)
    if voltage_too_low:
        sentence = _("The value is above the limit, but the test voltage does not allow a pass.")
        return Outcome.NO_VERDICT, note("no_pass_at_this_voltage", sentence, shown, source)
    sentence = _("The insulation is above the vehicle maker's limit.")
    return Outcome.PASSED, good("above_limit", sentence, shown, source)


def _circumstances(values: Values) -> list[Finding]:
    found = []
    if values.text("surface") == "WET":
        sentence = _("Wet or dirty plugs lower the reading: clean, dry and repeat.")
        found.append(warning("surface_wet", sentence, source=COMMON_PRACTICE))
    sentence = _(
        "Discharge the part after the test. Cold liquid refrigerant in the compressor lowers the value."
    )
    found.append(note("after_the_test", sentence, source=COMMON_PRACTICE))
    return found
