"""A running circuit: saturation beside each gauge, superheat, subcooling, approaches, ratio and discharge."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.errors import ValuesInvalid
from jobs.steps.answers import COMMON_PRACTICE, Finding, Output, note, refusal, warning
from jobs.steps.causes import diagnosis_findings, diagnosis_of
from jobs.steps.context import StepContext
from jobs.steps.cycle import SUPERCRITICAL, Seen, Side, seen_of
from jobs.steps.figures import figures
from jobs.steps.standing import EQUAL_PA
from jobs.steps.values import Values
from jobs.steps.window import window_findings
from shopcool.engineering.cycle import CAUTIONS, TRANSCRITICAL
from shopcool.engineering.errors import Refusal
from shopcool.engineering.properties import Fluid, critical_pressure_pa
from shopcool.engineering.quantities import Kind
from shopcool.engineering.saturation import IMPLAUSIBLE_BOILING_K, Verdict

#: Refusals of the cycle that the pair of pressures has told already.
_SAID_BY_PAIR = frozenset({"equalised", "swapped"})
#: Remarks of the cycle that hold for every reading, or that the gauges have told already.
_UNSAID = frozenset(
    {notice.code for notice in CAUTIONS}
    | {"no_superheat", "no_subcooling", "implausible_cold", TRANSCRITICAL.code}
)


def running(
    values: Values, context: StepContext, *, after_charge: bool
) -> tuple[list[Finding], list[Output]]:
    """Return what a running pair of pressures and its line temperatures say."""
    _check_pair(values)
    findings: list[Finding] = []
    if values.needed("high") - values.needed("low") <= EQUAL_PA:
        findings += _not_pumping(context)
    seen = seen_of(values, context)
    if seen is None:
        sentence = _("No cycle is computed for this refrigerant.")
        findings += [note("not_computed", sentence), *window_findings(values, context)]
        return [*findings, *_switched_on(context)], []
    for side in (seen.low, seen.high):
        findings += _side_findings(seen, side, context)
    findings += _line_findings(seen, context)
    findings += window_findings(values, context)
    if not seen.must_stop:
        findings += diagnosis_findings(diagnosis_of(values, seen, context, after_charge=after_charge))
    return [*findings, *_switched_on(context)], figures(values, seen, context)


def _check_pair(values: Values) -> None:
    both = set(values.many("seen")) & set(values.many("not_seen"))
    if both:
        raise ValuesInvalid({"not_seen": [_("The same sign can't be seen and not seen.")]})
    if values.needed("low") > values.needed("high") + EQUAL_PA:
        raise ValuesInvalid({"low": [_("The low side is above the high side: are the readings swapped?")]})


def _switched_on(context: StepContext) -> list[Finding]:
    if not context.case.facts.is_high_voltage:
        return []
    sentence = _("The vehicle was switched on: prove the absence of voltage again before work on its parts.")
    return [warning("switched_on", sentence, source=COMMON_PRACTICE)]


def _not_pumping(context: StepContext) -> list[Finding]:
    sentence = _(
        "Equal pressures while running: nothing is pumped. Check clutch, belt, control valve, inverter and "
        "command before the compressor."
    )
    additives = _("Ask what was added before: sealer and too much oil block valves and ruin compressors.")
    limit = f"> {context.shown(EQUAL_PA, Kind.PRESSURE_DIFFERENCE)}"
    return [
        warning("not_pumping", sentence, limit, COMMON_PRACTICE),
        note("ask_additives", additives, source=COMMON_PRACTICE),
    ]


def _side_findings(seen: Seen, side: Side, context: StepContext) -> list[Finding]:
    if side.refusal is not None:
        return [_refused(seen, side.refusal, context)]
    if side.saturation is None or side.saturation.verdict is Verdict.PLAUSIBLE:
        return []
    too_cold = side.saturation.warnings[-1]
    limit = f"≥ {context.shown(IMPLAUSIBLE_BOILING_K, Kind.TEMPERATURE)}"
    return [warning(too_cold.code, too_cold.message, limit, COMMON_PRACTICE)]


def _refused(seen: Seen, found: Refusal, context: StepContext) -> Finding:
    """Return why a side has no boiling temperature; above the critical pressure the work stops."""
    source = _("equation of state of %(gas)s") % {"gas": seen.fluid.value}
    if found.code != SUPERCRITICAL:
        return warning(found.code, found.message, source=source)
    if seen.fluid is Fluid.R744:
        return note(TRANSCRITICAL.code, TRANSCRITICAL.message, source=source)
    sentence = _("Stop the compressor. %(reason)s") % {"reason": found.message}
    critical = critical_pressure_pa(seen.fluid)
    limit = f"< {context.shown(critical, Kind.PRESSURE, basis='absolute')}"
    return refusal(found.code, sentence, limit, source)


def _line_findings(seen: Seen, context: StepContext) -> list[Finding]:
    """Return what the lines say; a subcooling of nothing within accuracy is no fault."""
    if seen.cycle_refusal is not None:
        refused = {side.refusal.code for side in (seen.low, seen.high) if side.refusal}
        if seen.cycle_refusal.code in refused | _SAID_BY_PAIR:
            return []
        return [warning(seen.cycle_refusal.code, seen.cycle_refusal.message, source=_("equation of state"))]
    found = []
    for code, side, sentence in (
        ("no_superheat", seen.low, _("No superheat within accuracy: liquid may reach the compressor.")),
        (
            "no_subcooling",
            seen.high,
            _("No subcooling within accuracy. That is no fault by itself; vapour may reach the valve."),
        ),
    ):
        if side.line is not None and abs(side.line.value_k) <= side.line.uncertainty_k:
            accuracy = context.shown(side.line.uncertainty_k, Kind.TEMPERATURE_DIFFERENCE)
            found.append(note(code, sentence, f"± {accuracy}", COMMON_PRACTICE))
    notices = seen.cycle.warnings if seen.cycle else ()
    return found + [note(item.code, item.message) for item in notices if item.code not in _UNSAID]
