"""The shape of a rise over time: leak, moisture, both, or not to be told, with the next step in words."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.steps.answers import Finding, Output, good, note, refusal, warning
from jobs.steps.context import StepContext
from jobs.steps.evacuation.drawing import hold_plot
from jobs.steps.evacuation.gross import shown
from jobs.steps.evacuation.readings import Curve, curve_of
from jobs.steps.evacuation.yearly import bound_outputs
from jobs.steps.values import Values
from shopcool.core.plots import Plot
from shopcool.engineering.errors import Refusal
from shopcool.engineering.vacuum_hold import (
    PairVerdict,
    VacuumHold,
    Verdict,
    analyse_hold,
    compare_holds,
)

USUAL_TEMPERATURE_K = 293.15
#: 1000 micron [Pa].
DRY_PA = 133.322
DRY_SOURCE = "common practice: steady at 500 to 1000 micron is dry, levelling at 1000 to 2000 is wet"
_LEAKING = frozenset({Verdict.LEAK, Verdict.LEAK_AND_OUTGASSING})
_ITS_FIELD = {"temperature_k": "coldest", "resolution_pa": "gauge_step"}


@dataclass(frozen=True)
class Shape:
    """What readings over time add to the two ends of a hold."""

    findings: tuple[Finding, ...]
    outputs: tuple[Output, ...]
    plots: tuple[Plot, ...]


def shape_of(values: Values, curve: Curve, context: StepContext) -> Shape:
    """Return what the shape of the rise says. Raises ValuesInvalid for readings nothing can rest on."""
    hold = _analysed(values, curve)
    findings = [_finding(hold), *(note(remark.code, remark.message) for remark in hold.warnings)]
    findings += _second_hold(hold, context)
    return Shape(tuple(findings), _outputs(values, hold, context), (hold_plot(hold, context),))


def _analysed(values: Values, curve: Curve) -> VacuumHold:
    try:
        return analyse_hold(
            curve.times_s,
            curve.pressures_pa,
            temperature_k=values.si("coldest", USUAL_TEMPERATURE_K),
            resolution_pa=values.needed("gauge_step"),
        )
    except Refusal as error:
        raise ValuesInvalid({_ITS_FIELD.get(error.field, "curve"): [error.message]}) from error


def _finding(hold: VacuumHold) -> Finding:
    """Return the verdict; without a proven leak, a hold that ends deep enough stands."""
    code = f"hold_{hold.verdict.value}"
    limit = "≤ 1000 micron"
    if hold.verdict in _LEAKING:
        return refusal(code, hold.sentence, source=hold.source)
    if hold.verdict is Verdict.NO_RISE:
        return good(code, hold.sentence, source=hold.source)
    if hold.verdict is Verdict.GAUGE_TOO_COARSE:
        return warning(code, hold.sentence, source=hold.source)
    if hold.readings.pressures_pa[-1] > DRY_PA:
        return refusal(code, hold.sentence, limit, DRY_SOURCE)
    sentence = _("%(verdict)s It ends below 1000 micron, which counts as dry.")
    return warning(code, sentence % {"verdict": hold.sentence}, limit, DRY_SOURCE)


def _second_hold(hold: VacuumHold, context: StepContext) -> list[Finding]:
    """Return what this hold adds to the one before it on this job, nothing when there was none."""
    before = [
        record.values
        for record in context.earlier
        if record.kind is StepKind.EVACUATION and record.values.has("curve")
    ]
    if not before:
        return []
    try:
        first = curve_of(before[-1], context)
        if first is None:
            return []
        pair = compare_holds(_analysed(before[-1], first), hold)
    except Refusal as error:
        return [note("holds_not_compared", error.message)]
    except ValuesInvalid:
        return []
    code, limits = f"pair_{pair.verdict.value}", {PairVerdict.LEAK_CONFIRMED, PairVerdict.RATE_ROSE}
    tone = refusal if pair.verdict in limits else note
    remarks = [note(remark.code, remark.message) for remark in pair.warnings]
    return [tone(code, pair.sentence, source=pair.source), *remarks]


def _outputs(values: Values, hold: VacuumHold, context: StepContext) -> tuple[Output, ...]:
    rate, low, high = (60.0 * value for value in (hold.rate_pa_s, hold.rate_low_pa_s, hold.rate_high_pa_s))
    steady = _("%(rate).2g Pa/min (95 %% interval %(low).2g to %(high).2g)")
    limit = _("%(pressure)s, where water at this temperature stops boiling")
    return (
        Output(
            "steady_rise", _("Steady rise"), hold.rate_pa_s, steady % {"rate": rate, "low": low, "high": high}
        ),
        *bound_outputs(values, hold, context),
        Output(
            "water",
            _("Water boils below"),
            hold.water_limit_pa,
            limit % {"pressure": shown(hold.water_limit_pa)},
        ),
    )
