"""Evacuation and vacuum hold: absolute pressures against the air of this workshop."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, Output, good, note, refusal, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import choice, duration, piece, pressure, quantity, yes_no
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind

NEEDLE, ELECTRONIC = "NEEDLE", "ELECTRONIC"
#: Above this nobody speaks of an evacuated circuit [Pa].
NOT_A_VACUUM_PA = 20_000.0
SHORTEST_HOLD_S = 300.0
#: One inch of mercury, the rise that vehicle makers commonly allow in four to five minutes [Pa].
USUAL_RISE_PA = 3386.389
RISE_SOURCE = "common practice of vehicle makers: at most 1 inHg in 5 min (secondary source)"

FIELDS = (
    piece("machine", gettext_lazy("Machine"), PieceKind.MACHINE),
    duration("pumped", gettext_lazy("Pump ran for")),
    yes_no(
        "valve_closed_first",
        gettext_lazy("Valve closed before the pump stopped"),
        help=gettext_lazy("Else pump oil is drawn into the hose."),
    ),
    choice(
        "gauge",
        gettext_lazy("Vacuum read on"),
        ((NEEDLE, gettext_lazy("a needle gauge")), (ELECTRONIC, gettext_lazy("an electronic vacuum gauge"))),
    ),
    pressure(
        "start",
        gettext_lazy("When the pump was shut off"),
        basis="absolute",
        unit="mbar",
        help=gettext_lazy("“750 micron”, “3 mbar” or “28 inHg vac”."),
    ),
    duration("held", gettext_lazy("Held for")),
    pressure("end", gettext_lazy("At the end of the hold"), basis="absolute", unit="mbar"),
    quantity(
        "allowed_rise",
        gettext_lazy("Rise that the vehicle maker allows"),
        Kind.PRESSURE_DIFFERENCE,
        unit="mbar",
        limits=(0.0, 20_000.0),
        sentence=gettext_lazy("A rise above 200 mbar is no vacuum hold: check number and unit."),
        help=gettext_lazy("Leave empty to use 1 inHg."),
    ).optional(),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return whether the vacuum held. It shows no gross leak; small leaks stay unseen."""
    start, end = values.needed("start"), values.needed("end")
    answer = _verdict(values, start, end)
    findings = [*answer.findings, *_limits_of_the_gauge(values), *_pump_oil(values)]
    if end < start:
        sentence = _("The pressure fell without a pump: temperature, or a gauge that was read too early.")
        findings.append(warning("fell_without_pump", sentence, source=COMMON_PRACTICE))
    return replace(answer, findings=tuple(findings), outputs=_outputs(start, end, context))


def _verdict(values: Values, start: float, end: float) -> Answer:
    allowed = values.si("allowed_rise", USUAL_RISE_PA)
    source = _("vehicle maker") if values.has("allowed_rise") else RISE_SOURCE
    limit = _("at most %(rise).3g mbar in the hold") % {"rise": allowed / 100}
    if start > NOT_A_VACUUM_PA:
        sentence = _("This is not an evacuated circuit: pump on, or search the leak.")
        return _not_held("not_a_vacuum", sentence, "≤ 200 mbar", COMMON_PRACTICE)
    if end - start > allowed:
        sentence = _("The vacuum did not hold: a leak, or refrigerant and moisture still boiling out.")
        return _not_held("rise_too_large", sentence, limit, source)
    if values.needed("held") < SHORTEST_HOLD_S:
        sentence = _("The hold was too short to say anything: hold at least five minutes.")
        return _not_held("hold_too_short", sentence, "≥ 5 min", RISE_SOURCE)
    sentence = _("No gross leak. A vacuum hold can't see small leaks, so this is not “no leak”.")
    return Answer(Outcome.HELD, findings=(good("no_gross_leak", sentence, limit, source),))


def _not_held(code: str, sentence: str, limit: str, source: str) -> Answer:
    finding = refusal(code, sentence, limit, source)
    return Answer(Outcome.NOT_HELD, satisfied=False, findings=(finding,))


def _limits_of_the_gauge(values: Values) -> list[Finding]:
    if values.text("gauge") == NEEDLE:
        sentence = _("A needle gauge can't prove dryness: one inch of mercury is 25 400 micron.")
        return [note("needle_gauge", sentence, source=COMMON_PRACTICE)]
    return []


def _pump_oil(values: Values) -> list[Finding]:
    if values.yes("valve_closed_first"):
        return []
    sentence = _(
        "Pump oil may have crept into the machine and hoses: they are marked for it and need a line purge."
    )
    return [warning("pump_oil_suspected", sentence, source=COMMON_PRACTICE)]


def _outputs(start: float, end: float, context: StepContext) -> tuple[Output, ...]:
    rise = end - start
    return (
        Output("start", _("At the start, absolute"), start, _shown(start)),
        Output("end", _("At the end, absolute"), end, _shown(end)),
        Output("rise", _("Rise"), rise, _shown(rise)),
    )


def _shown(pressure_pa: float) -> str:
    return f"{pressure_pa / 100:.2f} mbar ({pressure_pa * 760_000 / 101_325:,.0f} micron)"
