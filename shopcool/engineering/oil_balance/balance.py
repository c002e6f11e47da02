"""Oil balance of a repair: what the circuit must get back, by the vehicle's own rule."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from shopcool.engineering.errors import Refusal
from shopcool.engineering.limits import within
from shopcool.engineering.oil_balance.rule import COMPRESSOR, Allowance, OilRule
from shopcool.engineering.results import Notice

METHOD_VERSION = "oil-balance 1"
LARGEST_M3 = 5e-3
#: A drained amount this near to a change of the rule is shown with what the other side would give.
NEAR_BOUND_ML = 2.0


class Verdict(StrEnum):
    """What to do with the oil."""

    ADD = "add"
    DRAIN = "drain"
    NOTHING = "nothing"
    CONFLICTING_RULES = "conflicting_rules"


SENTENCES = {
    Verdict.ADD: "Add this amount of new oil of the circuit's own kind.",
    Verdict.DRAIN: "The new compressor holds more than the circuit needs: drain this amount from it.",
    Verdict.NOTHING: "Neither add nor drain.",
    Verdict.CONFLICTING_RULES: (
        "The rule states two amounts for one part: both results are shown, decide with the maker."
    ),
}


@dataclass(frozen=True)
class OilWork:
    """What was done: replaced parts, drained amount of each [m³], oil recovered with the refrigerant [m³].

    ``drained_m3`` of a part that is not in the mapping is unknown, which is not zero.
    ``recovered_m3`` is None when it was not read. ``emptied`` means that the whole oil was lost or flushed.
    """

    parts: Sequence[str]
    recovered_m3: float | None
    drained_m3: Mapping[str, float] = field(default_factory=dict)
    sudden_loss: bool = False
    emptied: bool = False


@dataclass(frozen=True)
class Term:
    """One term of the sum, as words and millilitres."""

    words: str
    amount_ml: float


@dataclass(frozen=True)
class OilBalance:
    """The signed amount to add [m³] (negative: drain), its terms, and the alternatives of a double rule.

    ``add_kg`` [kg] is None without a density.
    """

    rule: OilRule
    work: OilWork
    terms: tuple[Term, ...]
    needed_m3: float
    add_m3: float
    add_kg: float | None
    alternatives_m3: tuple[float, ...]
    verdict: Verdict
    sentence: str
    warnings: tuple[Notice, ...]
    method_version: str = METHOD_VERSION

    @property
    def source(self) -> str:
        """Where the maker states the rule."""
        return self.rule.source


NEW_OIL = Notice("new_oil", "Only new oil of exactly the kind on the label; drained oil never goes back.")


def oil_balance(rule: OilRule | None, work: OilWork, *, density_kg_m3: float | None = None) -> OilBalance:
    """Return how much oil a repaired circuit gets, or how much to drain from the new compressor.

    Parameters:
        rule: the vehicle's own rule; None when the shop has none on file.
        work: replaced parts, drained and recovered oil [m³].
        density_kg_m3: density of the oil [kg/m³]; None when unknown.

    Returns: signed amount [m³] with the terms of the sum.

    Raises ``no_rule``, ``recovered_unknown``, ``drained_unknown``, ``part_unknown``,
    ``new_compressor_unknown``, ``loss_unknown``, ``circuit_unknown``, ``volume``, ``density``,
    ``not_a_number``.

    Source: the rule's own; there is no generic answer.
    """
    if rule is None:
        raise Refusal(
            "no_rule",
            "No oil rule of this vehicle is on file. There is no generic answer: enter the maker's rule.",
            field="rule",
        )
    if density_kg_m3 is not None:
        _check_density(density_kg_m3)
    drained, recovered = _amounts(work)
    choices = [_terms(rule, work, drained, recovered, chosen) for chosen in _choices(rule, work)]
    sums = [_needed(rule, work, terms) - _held(rule, work) for terms in choices]
    add_ml = sums[0]
    verdict = _verdict(sums)
    return OilBalance(
        rule=rule,
        work=work,
        terms=choices[0],
        needed_m3=_m3(_needed(rule, work, choices[0])),
        add_m3=_m3(add_ml),
        add_kg=None if density_kg_m3 is None else _m3(add_ml) * density_kg_m3,
        alternatives_m3=tuple(_m3(other) for other in sums[1:] if other != add_ml),
        verdict=verdict,
        sentence=SENTENCES[verdict],
        warnings=_warnings(rule, work, drained, choices[0]),
    )


def _amounts(work: OilWork) -> tuple[dict[str, float], float]:
    if work.recovered_m3 is None:
        raise Refusal(
            "recovered_unknown",
            "The oil recovered with the refrigerant was not read. Not read is not zero: read the bottle.",
            field="recovered_m3",
        )
    drained = {part: _ml(amount, "drained_m3") for part, amount in work.drained_m3.items()}
    return drained, _ml(work.recovered_m3, "recovered_m3")


def _choices(rule: OilRule, work: OilWork) -> list[dict[str, Allowance]]:
    """Return which statement to use for each part: one choice, or one per rule of a part with several."""
    choices: list[dict[str, Allowance]] = [{}]
    for part in dict.fromkeys(work.parts):
        allowances = rule.allowances_for(part)
        if not allowances and part != COMPRESSOR:
            raise Refusal(
                "part_unknown", f"The rule of this vehicle states nothing for '{part}'.", field="parts"
            )
        if allowances:
            choices = [{**choice, part: allowance} for choice in choices for allowance in allowances][:16]
    return choices


def _terms(
    rule: OilRule,
    work: OilWork,
    drained: Mapping[str, float],
    recovered: float,
    chosen: Mapping[str, Allowance],
) -> tuple[Term, ...]:
    terms = [Term("recovered with the refrigerant", recovered)]
    for part in dict.fromkeys(work.parts):
        allowance = chosen.get(part, Allowance(part, 0.0, plus_drained=True))
        if allowance.plus_drained:
            terms.append(Term(f"drained from the old {part}", _drained(rule, part, drained)))
        if allowance.amount_ml:
            terms.append(Term(f"for the new {part}", allowance.amount_ml))
    if COMPRESSOR in work.parts and rule.stays_in_old_ml is not None:
        terms.append(Term("stays in the old compressor", rule.stays_in_old_ml))
    if work.sudden_loss:
        loss = _stated(rule.sudden_loss_ml, "loss_unknown", "what a sudden loss takes")
        terms.append(Term("for the sudden loss", loss))
    return tuple(terms)


def _drained(rule: OilRule, part: str, drained: Mapping[str, float]) -> float:
    if part not in drained:
        raise Refusal(
            "drained_unknown",
            f"The rule needs the oil drained from the old {part}. Not measured is not zero: drain and "
            f"measure it.",
            field="drained_m3",
        )
    return rule.counted_ml(drained[part]) if part == COMPRESSOR else drained[part]


def _needed(rule: OilRule, work: OilWork, terms: Sequence[Term]) -> float:
    if work.emptied:
        return _stated(rule.circuit_ml, "circuit_unknown", "what the whole circuit holds")
    total = round(math.fsum(term.amount_ml for term in terms), 6)
    return total if rule.circuit_ml is None else min(total, rule.circuit_ml)


def _held(rule: OilRule, work: OilWork) -> float:
    if COMPRESSOR not in work.parts:
        return 0.0
    return _stated(rule.new_compressor_ml, "new_compressor_unknown", "what the new compressor holds")


def _stated(amount: float | None, code: str, what: str) -> float:
    if amount is None:
        raise Refusal(code, f"The rule of this vehicle doesn't state {what}.", field="rule")
    return amount


def _verdict(sums: Sequence[float]) -> Verdict:
    if len(set(sums)) > 1:
        return Verdict.CONFLICTING_RULES
    if sums[0] == 0:
        return Verdict.NOTHING
    return Verdict.ADD if sums[0] > 0 else Verdict.DRAIN


def _warnings(
    rule: OilRule, work: OilWork, drained: Mapping[str, float], terms: Sequence[Term]
) -> tuple[Notice, ...]:
    notices = [NEW_OIL]
    total = math.fsum(term.amount_ml for term in terms)
    if rule.circuit_ml is not None and not work.emptied and total > rule.circuit_ml:
        notices.append(
            Notice(
                "capped",
                f"The parts sum to {total:g} ml; the circuit holds {rule.circuit_ml:g} ml: it gets no more.",
            )
        )
    amount = drained.get(COMPRESSOR)
    if COMPRESSOR in work.parts and amount is not None:
        notices += _step_notices(rule, amount)
    return tuple(notices)


def _step_notices(rule: OilRule, drained_ml: float) -> list[Notice]:
    counted = rule.counted_ml(drained_ml)
    notices = []
    if counted != drained_ml:
        notices.append(Notice("counted", f"By the rule {drained_ml:g} ml drained count as {counted:g} ml."))
    if any(abs(drained_ml - bound) < NEAR_BOUND_ML for bound in rule.bounds_ml()):
        notices.append(
            Notice("near_bound", "The drained amount is close to where the rule changes: measure it exactly.")
        )
    return notices


def _ml(volume_m3: float, name: str) -> float:
    """Return millilitres, rounded to where unit conversion ends and measurement begins.

    Sixty millilitres must meet a bound of sixty whichever way they were converted.
    """
    within(
        volume_m3,
        0,
        LARGEST_M3,
        name="A volume of oil",
        field=name,
        code="volume",
        message="A volume of oil must be between 0 and 5000 ml.",
    )
    return round(volume_m3 * 1e6, 6)


def _m3(millilitres: float) -> float:
    return round(millilitres, 6) / 1e6


def _check_density(density_kg_m3: float) -> None:
    within(
        density_kg_m3,
        700,
        1300,
        name="The density of the oil",
        field="density_kg_m3",
        code="density",
        message="The density of a refrigeration oil is between 700 and 1300 kg/m³.",
    )
