"""How much oil the repaired circuit gets, by the vehicle's own rule; there is no answer without one."""

from __future__ import annotations

import math
import re

from django.utils.translation import gettext as _

from equipment.oil.grades import same_grade
from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.steps.answers import Finding, Output, note, warning
from jobs.steps.context import StepContext
from jobs.steps.oil_source import source_of
from jobs.steps.oil_total import recovered_m3
from jobs.steps.values import Values
from shopcool.core.quantities import stored_text
from shopcool.engineering.errors import Refusal
from shopcool.engineering.oil_balance import COMPRESSOR, OilBalance, OilWork, Verdict, oil_balance, parse_rule
from shopcool.engineering.quantities import Kind, format_quantity, parse

#: Parts stand between commas or on lines of their own, each perhaps with what was drained from it.
_BETWEEN = re.compile(r"[;\n]|,\s+")
_PART = re.compile(r"(?P<part>[^\d]+?)(?:\s+(?P<drained>\d.*))?")
UNITS = ("ml", "US fl oz", "imp fl oz")
#: Amounts that differ by less are the same on a measuring glass [m³].
READABLE_M3 = 2e-6


def balance_findings(values: Values, context: StepContext) -> tuple[list[Finding], tuple[Output, ...]]:
    """Return what the rule says for the replaced parts, nothing when none were named."""
    if not values.text("replaced"):
        return [], ()
    work = _work(values, context)
    try:
        rule = parse_rule(context.oil_rule) if context.oil_rule else None
        balance = oil_balance(rule, work, density_kg_m3=_density_kg_m3(values, context))
    except Refusal as error:
        return [warning(f"oil_{error.code}", error.message)], ()
    findings = [_instruction(balance), *(note(f"oil_{one.code}", one.message) for one in balance.warnings)]
    return [*findings, *_compared(balance, values, context)], _outputs(balance, context)


def replaced_parts(context: StepContext) -> str:
    """Return the parts that the parts step names by itself, written as the oil step asks for them.

    What was drained is taken over for one part alone: of several, nobody knows which it came from.
    """
    values = context.latest(StepKind.PARTS)
    if values is None:
        return ""
    names = [name for name in ("compressor", "condenser") if values.yes(name)]
    drained = stored_text(values.quantity("drained_oil"))
    return f"{names[0]} {drained}" if len(names) == 1 and drained else ", ".join(names)


def _work(values: Values, context: StepContext) -> OilWork:
    drained: dict[str, float] = {}
    parts = []
    for piece in filter(None, (one.strip() for one in _BETWEEN.split(values.text("replaced")))):
        found = _PART.fullmatch(piece)
        if found is None:
            sentence = _("“%(part)s” is no part: write “compressor 35 ml, condenser”.") % {"part": piece}
            raise ValuesInvalid({"replaced": [sentence]})
        part = found["part"].strip().lower()
        parts.append(part)
        if found["drained"]:
            drained[part] = _drained(found["drained"], context)
    return OilWork(
        parts=parts,
        recovered_m3=recovered_m3((record.kind, record.values) for record in context.earlier),
        drained_m3=drained,
        sudden_loss=values.yes("sudden_loss"),
        emptied=values.yes("emptied"),
    )


def _drained(typed: str, context: StepContext) -> float:
    try:
        return parse(typed, Kind.VOLUME, default_unit=context.units.volume, minimum=0.0, maximum=2e-3).si
    except Refusal as error:
        raise ValuesInvalid({"replaced": [error.message]}) from error


def _density_kg_m3(values: Values, context: StepContext) -> float | None:
    """Return the density of the oil that goes in, else that of the circuit's own on the shelf [kg/m³]."""
    if values.yes("added"):
        return source_of(values, context).density_kg_m3
    alike = (lot for lot in context.lots_offered() if same_grade(lot.grade, context.lubricant_grade))
    return next((lot.mass_kg / lot.volume_m3 for lot in alike if lot.volume_m3), None)


def _instruction(balance: OilBalance) -> Finding:
    """Return what to do with the oil, and how the rule reckons it."""
    tone = warning if balance.verdict is Verdict.CONFLICTING_RULES else note
    sentence = f"{_told(balance)} {_reckoned(balance)}"
    return tone(f"oil_{balance.verdict.value}", sentence, source=balance.source)


def _told(balance: OilBalance) -> str:
    amount = {"amount": _in_all_units(balance)}
    if balance.verdict is Verdict.ADD:
        return _("Add %(amount)s of new oil of the circuit's own kind.") % amount
    if balance.verdict is Verdict.DRAIN:
        sentence = _("Drain %(amount)s from the new compressor: it holds more than the circuit needs.")
        return sentence % amount
    if balance.verdict is Verdict.NOTHING:
        return _("Neither add nor drain.")
    results = ", ".join(_signed(result) for result in (balance.add_m3, *balance.alternatives_m3))
    sentence = _("The rule has two lines for one part and gives %(results)s: decide with the maker.")
    return sentence % {"results": results}


def _reckoned(balance: OilBalance) -> str:
    """Return the sum of the rule in words; the other line of a double rule has another sum."""
    if balance.work.emptied:
        sentence = _("An emptied circuit gets all it holds, %(needed)s.") % {"needed": _ml(balance.needed_m3)}
    else:
        terms = " + ".join(f"{term.words} {term.amount_ml:g} ml" for term in balance.terms)
        total = math.fsum(term.amount_ml for term in balance.terms)
        sentence = _("By the rule: %(terms)s = %(total)g ml.") % {"terms": terms, "total": total}
    held = balance.rule.new_compressor_ml
    if COMPRESSOR in balance.work.parts and held is not None:
        sentence += " " + _("The new compressor holds %(held)g ml.") % {"held": held}
    return sentence


def _compared(balance: OilBalance, values: Values, context: StepContext) -> list[Finding]:
    """Return whether what was added is what the rule asks for."""
    asked, added = max(balance.add_m3, 0.0), values.si("amount", 0.0)
    if balance.verdict is Verdict.CONFLICTING_RULES or abs(asked - added) < READABLE_M3:
        return []
    if not added:
        sentence = _("The rule asks for %(asked)s of oil, none was added.")
    elif not asked:
        sentence = _("By the rule nothing is added, %(added)s went in.")
    else:
        sentence = _("The rule asks for %(asked)s of oil, %(added)s went in.")
    shown = context.shown(asked, Kind.VOLUME)
    numbers = {"asked": shown, "added": context.shown(added, Kind.VOLUME)}
    return [warning("oil_not_by_rule", sentence % numbers, shown, balance.source)]


def _outputs(balance: OilBalance, context: StepContext) -> tuple[Output, ...]:
    """Return the signed amount; its text leaves the sign to its label, so it is told in one unit."""
    label = _("To drain from the new compressor") if balance.add_m3 < 0 else _("To add by the rule")
    shown = context.shown(abs(balance.add_m3), Kind.VOLUME)
    return (Output("by_rule", label, balance.add_m3, shown),)


def _in_all_units(balance: OilBalance) -> str:
    """Return the amount in ml, in the ounces of both countries, and in grams where the density is known."""
    millilitres, *others = (format_quantity(abs(balance.add_m3), Kind.VOLUME, unit) for unit in UNITS)
    if balance.add_kg is not None:
        others.append(format_quantity(abs(balance.add_kg), Kind.MASS, "g", digits=1))
    return f"{millilitres} ({', '.join(others)})"


def _signed(amount_m3: float) -> str:
    verb = _("drain %(amount)s") if amount_m3 < 0 else _("add %(amount)s")
    return verb % {"amount": _ml(abs(amount_m3))}


def _ml(amount_m3: float) -> str:
    return format_quantity(amount_m3, Kind.VOLUME, "ml")
