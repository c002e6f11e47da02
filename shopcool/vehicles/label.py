"""The charge as the label prints it: one text with its tolerance and its second units, pure rules."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from shopcool.core.quantities import LONGEST_STORED, QuantityRule
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import Kind, Quantity, format_quantity, parse
from shopcool.engineering.results import Notice

SMALLEST_CHARGE_KG = 0.05
LARGEST_CHARGE_KG = 30.0
#: More than this is a bus or a typing error (common practice: passenger cars hold 0.3 to 1.5 kg).
UNUSUAL_CHARGE_KG = 3.0
METRIC = frozenset({"g", "kg"})

_BETWEEN_STATEMENTS = re.compile(r"[{}()\[\]=/]")
_PLUS_MINUS = re.compile(r"\s*(?:±|\+\s*/\s*-|\+-)\s*")
_RANGE = re.compile(r"(?P<low>[\d.,][^-–—…]*?)\s*(?:-|–|—|…|\bto\b)\s*(?P<high>[\d.,].*)")
_DECIMALS = re.compile(r"[.,](\d+)\D*$")


@dataclass(frozen=True)
class Statement:
    """What one part of the label says, from ``low_kg`` to ``high_kg``, and half its last digit [kg]."""

    text: str
    low_kg: float
    high_kg: float
    rounding_kg: float
    unit: str
    states_tolerance: bool

    @property
    def middle_kg(self) -> float:
        """The charge in the middle [kg]."""
        return (self.low_kg + self.high_kg) / 2


@dataclass(frozen=True)
class LabelCharge:
    """The charge that the label asks for; tolerance is None where the label prints none.

    ``typed`` is the text as entered, its unit included; ``notices`` tell where its units disagree.
    """

    charge_kg: float
    tolerance_kg: float | None
    typed: str
    notices: tuple[Notice, ...] = ()


def parse_label_charge(text: str, *, default_unit: str) -> LabelCharge:
    """Return the charge of a label.

    Parameters:
        text: ``550``, ``0,55 kg``, ``490 ± 25 g``, ``465–515 g``, ``465–515 g {16.5–18.1 oz}``.
        default_unit: mass unit of bare numbers.

    Grams rule over ounces and pounds; what the others say is compared within the rounding of the print and
    kept as entered. Raises Refusal: the parser's own, ``out_of_range``, ``range``, ``too_long``.
    """
    typed = " ".join(text.split())
    if len(typed) > LONGEST_STORED:
        raise Refusal("too_long", _("The text is too long for one label charge."), field="charge")
    # "+/-" holds the stroke that also stands between two statements.
    marked = _PLUS_MINUS.sub(" ± ", typed)
    parts = [part.strip() for part in _BETWEEN_STATEMENTS.split(marked) if part.strip()]
    if not parts:
        raise Refusal("not_a_number", _("The charge is missing."), field="charge")
    statements = [_statement(part, default_unit) for part in parts]
    ruling = next((one for one in statements if one.unit in METRIC), statements[0])
    tolerance_kg = (ruling.high_kg - ruling.low_kg) / 2 if ruling.states_tolerance else None
    whole = f"{typed} {statements[0].unit}" if len(parts) == 1 and typed[-1:].isdigit() else typed
    return LabelCharge(
        charge_kg=ruling.middle_kg,
        tolerance_kg=tolerance_kg,
        typed=whole,
        notices=tuple(_notices(ruling, [one for one in statements if one is not ruling])),
    )


def _notices(ruling: Statement, others: list[Statement]) -> list[Notice]:
    found = [_disagreement(ruling, other) for other in others if not _agree(ruling, other)]
    if ruling.middle_kg > UNUSUAL_CHARGE_KG:
        sentence = _("More than 3 kg is the charge of a bus: check the decimal mark.")
        found.append(Notice("unusual_charge", sentence))
    return found


def _statement(text: str, default_unit: str) -> Statement:
    around = _PLUS_MINUS.split(text)
    if len(around) == 2:
        return _with_tolerance(text, around[0], around[1], default_unit)
    between = _RANGE.fullmatch(text)
    if between:
        return _from_to(text, between["low"], between["high"], default_unit)
    reading = _charge(text, default_unit)
    return Statement(text, reading.si, reading.si, _rounding_kg(text, reading), reading.unit, False)


def _from_to(text: str, low_text: str, high_text: str, default_unit: str) -> Statement:
    high = _charge(high_text, default_unit)
    low = _charge(low_text, high.unit)
    if low.si > high.si:
        raise Refusal("range", _("“%(text)s” runs backwards.") % {"text": text}, field="charge")
    return Statement(text, low.si, high.si, _rounding_kg(high_text, high), high.unit, True)


def _with_tolerance(text: str, middle_text: str, tolerance_text: str, default_unit: str) -> Statement:
    if tolerance_text.endswith("%"):
        middle = _charge(middle_text, default_unit)
        tolerance_kg = parse(tolerance_text, Kind.FRACTION, default_unit="%").si * middle.si
    elif middle_text[-1:].isdigit():
        tolerance = parse(tolerance_text, Kind.MASS, default_unit=default_unit)
        middle, tolerance_kg = _charge(middle_text, tolerance.unit), tolerance.si
    else:
        middle = _charge(middle_text, default_unit)
        tolerance_kg = parse(tolerance_text, Kind.MASS, default_unit=middle.unit).si
    if not 0.0 <= tolerance_kg < middle.si:
        sentence = _("“%(text)s”: the tolerance must be smaller than the charge.") % {"text": text}
        raise Refusal("range", sentence, field="charge")
    rounding_kg = _rounding_kg(middle_text, middle)
    return Statement(text, middle.si - tolerance_kg, middle.si + tolerance_kg, rounding_kg, middle.unit, True)


def _charge(text: str, default_unit: str) -> Quantity:
    rule = QuantityRule(Kind.MASS, default_unit, minimum=SMALLEST_CHARGE_KG, maximum=LARGEST_CHARGE_KG)
    return rule.read(text)


def _rounding_kg(text: str, reading: Quantity) -> float:
    """Return half of the last printed digit [kg]."""
    decimals = _DECIMALS.search(text)
    half = 0.5 * 10.0 ** -(len(decimals[1]) if decimals else 0)
    return half * parse("1", Kind.MASS, default_unit=reading.unit).si


def _agree(one: Statement, other: Statement) -> bool:
    slack = one.rounding_kg + other.rounding_kg
    return abs(one.low_kg - other.low_kg) <= slack and abs(one.high_kg - other.high_kg) <= slack


def _disagreement(ruling: Statement, other: Statement) -> Notice:
    exact = replace(ruling, unit=other.unit)
    limits = [exact.low_kg] if exact.low_kg == exact.high_kg else [exact.low_kg, exact.high_kg]
    shown = "–".join(format_quantity(limit, Kind.MASS, other.unit, digits=2) for limit in limits)
    sentence = _("The label says %(ruling)s, which is %(exact)s, and also %(other)s. %(ruling)s rules.") % {
        "ruling": ruling.text,
        "exact": shown,
        "other": other.text,
    }
    return Notice("label_units_disagree", sentence)
