"""Two readings of a hold: they show a gross leak, and nothing smaller."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.procedure import Outcome
from jobs.steps.answers import (
    COMMON_PRACTICE,
    Answer,
    Finding,
    Output,
    Tone,
    good,
    note,
    refusal,
    warning,
)
from jobs.steps.context import StepContext
from jobs.steps.evacuation.fields import NEEDLE
from jobs.steps.evacuation.readings import Ends
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind, format_quantity

#: Above this nobody speaks of an evacuated circuit [Pa].
NOT_A_VACUUM_PA = 20_000.0
SHORTEST_HOLD_S = 300.0
#: One inch of mercury, the rise that vehicle makers commonly allow in four to five minutes [Pa].
USUAL_RISE_PA = 3386.389
RISE_SOURCE = "common practice of vehicle makers: at most 1 inHg in 5 min (secondary source)"


def gross_check(values: Values, ends: Ends, context: StepContext) -> Answer:
    """Return whether the vacuum held by its two ends. It shows no gross leak; small leaks stay unseen."""
    outcome, finding = _verdict(values, ends)
    pump_oil = _pump_oil(values, context)
    findings = [finding, *_limits_of_the_gauge(values), *pump_oil]
    if ends.end_pa < ends.start_pa:
        sentence = _("The pressure fell without a pump: temperature, or a gauge that was read too early.")
        findings.append(warning("fell_without_pump", sentence, source=COMMON_PRACTICE))
    if any(one.tone is Tone.REFUSAL for one in pump_oil):
        outcome = Outcome.NOT_DONE
    held = outcome is Outcome.HELD
    return Answer(outcome, satisfied=held, findings=tuple(findings), outputs=_outputs(values, ends, context))


def _verdict(values: Values, ends: Ends) -> tuple[Outcome, Finding]:
    allowed = values.si("allowed_rise", USUAL_RISE_PA)
    source = _("vehicle maker") if values.has("allowed_rise") else RISE_SOURCE
    limit = _("at most %(rise)s in the hold") % {"rise": shown(allowed)}
    if ends.start_pa > NOT_A_VACUUM_PA:
        sentence = _("This is not an evacuated circuit: pump on, or search the leak.")
        return _not_held("not_a_vacuum", sentence, "≤ 200 mbar", COMMON_PRACTICE)
    if ends.end_pa - ends.start_pa > allowed:
        sentence = _("The vacuum did not hold: a leak, or refrigerant and moisture still boiling out.")
        return _not_held("rise_too_large", sentence, limit, source)
    if ends.held_s < SHORTEST_HOLD_S:
        sentence = _("The hold was too short to say anything: hold at least five minutes.")
        return _not_held("hold_too_short", sentence, "≥ 5 min", RISE_SOURCE)
    sentence = _("No gross leak. A vacuum hold can't see small leaks, so this is not “no leak”.")
    return Outcome.HELD, good("no_gross_leak", sentence, limit, source)


def _not_held(code: str, sentence: str, limit: str, source: str) -> tuple[Outcome, Finding]:
    return Outcome.NOT_HELD, refusal(code, sentence, limit, source)


def _limits_of_the_gauge(values: Values) -> list[Finding]:
    if values.text("gauge") == NEEDLE:
        sentence = _(
            "A needle gauge is a gross check only and can't prove dryness: "
            "one inch of mercury is 25 400 micron."
        )
        return [note("needle_gauge", sentence, source=COMMON_PRACTICE)]
    return []


def _pump_oil(values: Values, context: StepContext) -> list[Finding]:
    """Return what an open valve means: on high voltage this evacuation does not count, whatever it held."""
    if values.yes("valve_closed_first"):
        return []
    if not context.case.facts.is_high_voltage:
        sentence = _(
            "Pump oil may have crept into machine and hoses: they are marked for it and need a line purge."
        )
        return [warning("pump_oil_suspected", sentence, source=COMMON_PRACTICE)]
    sentence = _(
        "Pump oil may have crept into machine, hoses and car: this evacuation does not count. Take the "
        "pieces off, run a line purge, connect and evacuate again. The insulation is measured once more "
        "before the compressor runs."
    )
    return [refusal("pump_oil_suspected", sentence, source=COMMON_PRACTICE)]


def _outputs(values: Values, ends: Ends, context: StepContext) -> tuple[Output, ...]:
    rise, air = ends.end_pa - ends.start_pa, context.atmosphere_pa
    inches = format_quantity(air, Kind.PRESSURE, "inHg", basis="absolute", atmosphere_pa=air)
    return (
        Output("start", _("At the start, absolute"), ends.start_pa, shown(ends.start_pa)),
        Output("end", _("At the end, absolute"), ends.end_pa, shown(ends.end_pa)),
        Output("rise", _("Rise"), rise, shown(rise)),
        Output("air", _air_label(values), air, f"{air / 100:.0f} mbar, {inches}"),
    )


def _air_label(values: Values) -> str:
    return _("Air by the barometer") if values.has("barometer") else _("Air at this workshop")


def shown(pressure_pa: float) -> str:
    """Return a pressure [Pa] as vacuum gauges show it."""
    return f"{pressure_pa / 100:.2f} mbar ({pressure_pa * 760_000 / 101_325:,.0f} micron)"
