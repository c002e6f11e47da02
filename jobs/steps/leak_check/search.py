"""A search for a leak: what was searched with, under which pressure, and what that can't see."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, Tone, good, note, refusal, warning
from jobs.steps.context import StepContext
from jobs.steps.leak_check.fields import DYE, FOUND
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind, from_unit

#: The usual least pressure of a search, gauge [Pa], where the vehicle maker's own is not on file.
USUAL_LEAST_PA = 340_000.0
USUAL_SOURCE = "SAE J1628 (from memory): at least 340 kPa at rest; below 15 °C that may not be reached"


def search_answer(values: Values, context: StepContext) -> Answer:
    """Return whether a leak was found, and how far the search reaches."""
    reach = _reach(values, context)
    findings = [*reach, *_dye(values, context)]
    if values.text("result") == FOUND:
        sentence = _("A leak was found: %(where)s. Repair it before the vehicle is charged again.")
        findings.insert(0, warning("leak_found", sentence % {"where": values.text("where")}))
        return Answer(Outcome.LEAK_FOUND, findings=tuple(findings))
    if any(finding.tone is Tone.REFUSAL for finding in reach):
        return Answer(Outcome.NO_VERDICT, satisfied=False, findings=tuple(findings))
    findings.insert(0, _none_found(values.text("smallest")))
    return Answer(Outcome.NO_LEAK_FOUND, findings=tuple(findings))


def _none_found(smallest: str) -> Finding:
    if smallest:
        sentence = _("No leak larger than %(smallest)s was found.") % {"smallest": smallest}
        return good("no_leak_found", sentence)
    sentence = _("No leak was found; how small a leak the method shows is not on record.")
    return note("no_leak_found", sentence)


def _dye(values: Values, context: StepContext) -> list[Finding]:
    if values.text("method") != DYE or not context.case.facts.is_high_voltage:
        return []
    sentence = _("Never add dye to a high-voltage circuit; it often carries PAG or solvent.")
    return [warning("dye_in_high_voltage", sentence, source=COMMON_PRACTICE)]


def _reach(values: Values, context: StepContext) -> list[Finding]:
    """Return what the search can't see by the vehicle maker's rule, else by the usual one."""
    rule = context.search
    if rule.pressure_pa is None and rule.temperature_k is None:
        return [_without_rule(values, context)]
    return [
        *_below("searched_at", rule.pressure_pa, Kind.PRESSURE, values, context),
        *_below("searched_in", rule.temperature_k, Kind.TEMPERATURE, values, context),
    ]


def _below(name: str, least: float | None, kind: Kind, values: Values, context: StepContext) -> list[Finding]:
    if least is None:
        return []
    limit = f"≥ {context.shown(least, kind)}"
    found = values.si(name)
    if found is None:
        sentence = _("The vehicle maker asks for %(limit)s during a leak search: measure it.")
        raise ValuesInvalid({name: [sentence % {"limit": limit}]})
    if found >= least:
        return []
    if kind is Kind.PRESSURE:
        sentence = _("Not searched: the pressure was too low. Raise it, or warm the car, and search again.")
    else:
        sentence = _("Not searched: it was too cold. Warm the car and search again.")
    return [refusal(f"{name}_too_low", sentence, limit, context.search.source)]


def _without_rule(values: Values, context: StepContext) -> Finding:
    """Return how far the search reaches where the vehicle maker's own rule is not on file."""
    usual = from_unit(USUAL_LEAST_PA, "Pa", Kind.PRESSURE, basis="gauge", atmosphere_pa=context.atmosphere_pa)
    limit = f"≥ {context.shown(usual, Kind.PRESSURE)}"
    asks = _("Enter the vehicle maker's least pressure and temperature on the vehicle's page.")
    found = values.si("searched_at")
    if found is None:
        sentence = _("At which pressure was searched? Without it nobody knows what was not searched.")
        return note("search_pressure_unknown", f"{sentence} {asks}", limit, USUAL_SOURCE)
    words = {"pressure": context.shown(found, Kind.PRESSURE)}
    if found < usual:
        sentence = _("%(pressure)s is little: leaks that only open above it were not searched for.") % words
        return warning("search_pressure_low", f"{sentence} {asks}", limit, USUAL_SOURCE)
    sentence = _("Searched at %(pressure)s; not searched for leaks that only open above it.") % words
    return note("searched_up_to", f"{sentence} {asks}", limit, USUAL_SOURCE)
