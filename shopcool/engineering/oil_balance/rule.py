"""The rule of one vehicle for its compressor oil, as a short text that a shop types from the maker's data.

One statement per line; amounts in millilitres; ``#`` opens a remark::

    source workshop manual of this model, air conditioning, page 12
    new compressor holds 120
    stays in old compressor 20
    drained below 60 counts 40
    drained at least 50
    part condenser 30
    part accumulator drained plus 30
    sudden loss 90
    circuit holds 270

``drained below 60 counts 40`` is strict: 59.9 counts as 40, 60 counts as 60; ``drained up to 60 counts 40``
includes 60. ``drained at least`` and ``drained at most`` bound what counts. A part may have two lines where
the maker's text has two rules; both results are then shown. ``circuit holds`` caps the sum, and an emptied
circuit gets that amount.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from shopcool.engineering.errors import Refusal

COMPRESSOR = "compressor"
LARGEST_ML = 5000.0
MOST_LINES = 100
LONGEST_TEXT = 10_000


@dataclass(frozen=True)
class Step:
    """A drained amount below (or up to and with) ``bound_ml`` counts as ``counts_ml`` [ml]."""

    bound_ml: float
    counts_ml: float
    inclusive: bool

    def applies(self, drained_ml: float) -> bool:
        """Return whether a drained amount [ml] falls under this step."""
        return drained_ml <= self.bound_ml if self.inclusive else drained_ml < self.bound_ml


@dataclass(frozen=True)
class Allowance:
    """What a replaced part asks for: a fixed amount [ml], on top of the drained amount or not."""

    part: str
    amount_ml: float
    plus_drained: bool = False


@dataclass(frozen=True)
class OilRule:
    """The rule of one vehicle; absent amounts are None and are never taken as zero."""

    source: str
    new_compressor_ml: float | None = None
    stays_in_old_ml: float | None = None
    steps: tuple[Step, ...] = ()
    drained_least_ml: float | None = None
    drained_most_ml: float | None = None
    allowances: tuple[Allowance, ...] = ()
    sudden_loss_ml: float | None = None
    circuit_ml: float | None = None

    def allowances_for(self, part: str) -> tuple[Allowance, ...]:
        """Return the statements about a part; more than one when the maker's text has two rules."""
        return tuple(allowance for allowance in self.allowances if allowance.part == part)

    def counted_ml(self, drained_ml: float) -> float:
        """Return what a drained amount [ml] counts as: first step that applies, then the bounds."""
        applying = sorted((s for s in self.steps if s.applies(drained_ml)), key=lambda step: step.bound_ml)
        counted = applying[0].counts_ml if applying else drained_ml
        if self.drained_least_ml is not None:
            counted = max(counted, self.drained_least_ml)
        return counted if self.drained_most_ml is None else min(counted, self.drained_most_ml)

    def bounds_ml(self) -> tuple[float, ...]:
        """Return the drained amounts [ml] at which the rule changes."""
        bounds = [step.bound_ml for step in self.steps]
        bounds += [bound for bound in (self.drained_least_ml, self.drained_most_ml) if bound is not None]
        return tuple(sorted(bounds))


_AMOUNT = r"(?P<amount>\d+(?:\.\d+)?)(?: ?ml)?"
_STATEMENTS = (
    ("new_compressor_ml", re.compile(rf"new compressor holds {_AMOUNT}")),
    ("stays_in_old_ml", re.compile(rf"stays in old compressor {_AMOUNT}")),
    ("drained_least_ml", re.compile(rf"drained at least {_AMOUNT}")),
    ("drained_most_ml", re.compile(rf"drained at most {_AMOUNT}")),
    ("sudden_loss_ml", re.compile(rf"sudden loss {_AMOUNT}")),
    ("circuit_ml", re.compile(rf"circuit holds {_AMOUNT}")),
)
_STEP = re.compile(rf"drained (?P<how>below|up to) (?P<bound>\d+(?:\.\d+)?)(?: ?ml)? counts {_AMOUNT}")
_PART = re.compile(
    rf"part (?P<part>[a-z][a-z -]*?) (?:{_AMOUNT}|drained(?: plus (?P<plus>\d+(?:\.\d+)?)(?: ?ml)?)?)"
)
_SOURCE = re.compile(r"source (?P<source>\S.*)")
_OUNCE = re.compile(r"\b(fl\.? ?)?(oz|ounces?)\b")


def parse_rule(text: str) -> OilRule:
    """Return the rule that a text states.

    Parameters:
        text: statements, one per line, amounts in millilitres.

    Returns: the rule.

    Raises ``rule_syntax`` with the line, ``rule_source`` when no source is named, ``rule_twice`` for a
    statement given twice, ``rule_ounce`` for ounces, ``rule_amount`` above 5000 ml, ``rule_long``.
    """
    if len(text) > LONGEST_TEXT or text.count("\n") > MOST_LINES:
        raise _refused("rule_long", "The rule is too long: 100 lines at most.")
    draft = _Draft()
    for number, line in enumerate(text.splitlines(), start=1):
        statement = " ".join(line.split("#", 1)[0].split())
        if statement:
            _read(draft, statement, number)
    return draft.rule()


def _refused(code: str, message: str) -> Refusal:
    return Refusal(code, message, field="rule")


class _Draft:
    """The statements read so far."""

    def __init__(self) -> None:
        self.source = ""
        self.amounts: dict[str, float] = {}
        self.steps: list[Step] = []
        self.allowances: list[Allowance] = []

    def set_amount(self, name: str, amount: float, number: int) -> None:
        if name in self.amounts:
            raise Refusal(
                "rule_twice", f"Line {number} of the rule repeats an earlier statement.", field="rule"
            )
        self.amounts[name] = amount

    def rule(self) -> OilRule:
        if not self.source:
            raise _refused("rule_source", "The rule needs a line 'source …': where the maker states it.")
        least, most = self.amounts.get("drained_least_ml"), self.amounts.get("drained_most_ml")
        if least is not None and most is not None and least > most:
            raise _refused("rule_bounds", "The rule's 'at least' is above its 'at most'.")
        return OilRule(
            source=self.source,
            steps=tuple(self.steps),
            allowances=tuple(self.allowances),
            new_compressor_ml=self.amounts.get("new_compressor_ml"),
            stays_in_old_ml=self.amounts.get("stays_in_old_ml"),
            drained_least_ml=least,
            drained_most_ml=most,
            sudden_loss_ml=self.amounts.get("sudden_loss_ml"),
            circuit_ml=self.amounts.get("circuit_ml"),
        )


def _read(draft: _Draft, statement: str, number: int) -> None:
    if source := _SOURCE.fullmatch(statement):
        draft.source = source["source"]
        return
    lowered = statement.lower()
    if _OUNCE.search(lowered):
        raise _refused(
            "rule_ounce",
            f"Line {number} of the rule is in ounces: say millilitres, because US, imperial and weight "
            f"ounces "
            "differ.",
        )
    for name, pattern in _STATEMENTS:
        if found := pattern.fullmatch(lowered):
            draft.set_amount(name, _amount(found["amount"], number), number)
            return
    if found := _STEP.fullmatch(lowered):
        bound, counts = _amount(found["bound"], number), _amount(found["amount"], number)
        draft.steps.append(Step(bound, counts, inclusive=found["how"] == "up to"))
    elif found := _PART.fullmatch(lowered):
        draft.allowances.append(_allowance(found, number))
    else:
        raise Refusal(
            "rule_syntax", f"Line {number} of the rule is not understood: '{statement}'.", field="rule"
        )


def _allowance(found: re.Match[str], number: int) -> Allowance:
    if found["amount"] is not None:
        return Allowance(found["part"], _amount(found["amount"], number))
    return Allowance(found["part"], _amount(found["plus"] or "0", number), plus_drained=True)


def _amount(text: str, number: int) -> float:
    amount = float(text)
    if amount > LARGEST_ML:
        raise _refused("rule_amount", f"Line {number} of the rule states more than 5000 ml.")
    return amount


def rule_text(rule: OilRule) -> str:
    """Return the text of a rule; :func:`parse_rule` reads it back to the same rule."""
    lines = [f"source {rule.source}"]
    singles = (
        ("new compressor holds", rule.new_compressor_ml),
        ("stays in old compressor", rule.stays_in_old_ml),
        ("drained at least", rule.drained_least_ml),
        ("drained at most", rule.drained_most_ml),
        ("sudden loss", rule.sudden_loss_ml),
        ("circuit holds", rule.circuit_ml),
    )
    lines += [f"{words} {_number(amount)}" for words, amount in singles if amount is not None]
    for step in rule.steps:
        how = "up to" if step.inclusive else "below"
        lines.append(f"drained {how} {_number(step.bound_ml)} counts {_number(step.counts_ml)}")
    for allowance in rule.allowances:
        amount = _number(allowance.amount_ml)
        lines.append(
            f"part {allowance.part} {f'drained plus {amount}' if allowance.plus_drained else amount}"
        )
    return "\n".join(lines) + "\n"


def _number(amount: float) -> str:
    """Return a plain decimal that reads back to the same number."""
    return format(Decimal(repr(float(amount))), "f").removesuffix(".0")
