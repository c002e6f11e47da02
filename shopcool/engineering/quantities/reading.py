"""Parse what a person typed into a reading that knows what it is."""

from __future__ import annotations

import re
from dataclasses import dataclass

from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities.atmosphere import STANDARD_ATMOSPHERE_PA
from shopcool.engineering.quantities.conversion import from_unit
from shopcool.engineering.quantities.kinds import Kind, Quantity
from shopcool.engineering.quantities.number_text import (
    not_a_number,
    number_value,
    plain_characters,
    split_number,
)
from shopcool.engineering.quantities.units import Unit, unit_named

MAXIMUM_TYPED_CHARACTERS = 60

_OVER_RANGE = re.compile(r"(?:o\.?l\.?|0l|ovl|over\s?range)\b\.?\s*", re.IGNORECASE)
_COMPARATOR = re.compile(r"[<>]=?")
_CLOCK = re.compile(r"(\d{1,3}):([0-5]\d)(?::([0-5]\d))?")
_SPELLED_BASES = {
    "gauge": ("g", "gauge", "gage"),
    "absolute": ("a", "abs", "abs.", "absolute"),
    "vacuum": ("v", "vac", "vacuum"),
}
_BASIS_WORDS = {word: basis for basis, words in _SPELLED_BASES.items() for word in words}
_BASIS_AT_END = re.compile(
    r"\s*(\((?:g|gauge|a|abs|v|vac|vacuum)\)|\b(?:g|gauge|gage|a|abs\.?|absolute|v|vac|vacuum))$", re.I
)
_GLUED_BASIS = re.compile(r"(psi|bar|mpa|kpa|inhg)([gav])$", re.I)
# What no instrument of the trade can show: the range that holds when the caller gives none.
_NATURAL_RANGE: dict[Kind, tuple[float, float]] = {
    Kind.FRACTION: (0.0, 1.0),
    Kind.RESISTANCE: (0.0, 1e18),
    Kind.DURATION: (0.0, 1e11),
    Kind.LENGTH: (0.0, 1e6),
    Kind.SPEED_RPM: (0.0, 1e6),
}


@dataclass(frozen=True)
class _Expected:
    """How to read a number that came without unit or basis."""

    kind: Kind
    unit: str
    basis: str
    atmosphere_pa: float


def parse(
    text: str,
    kind: Kind,
    *,
    default_unit: str,
    default_basis: str = "gauge",
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA,
    minimum: float | None = None,
    maximum: float | None = None,
) -> Quantity:
    """Return the reading that a person typed.

    Parameters:
        text: as typed: ``0,55``, ``1.234,56``, ``20 inHg vac``, ``14.7 psia``, ``> 2.2 GΩ``, ``1:30``.
        kind: what is measured.
        default_unit: unit of a bare number.
        default_basis: gauge, absolute or vacuum, for a pressure whose text does not say. Units of vacuum
            gauges (micron, Torr, mbar, hPa, Pa) are absolute unless the text says otherwise.
        atmosphere_pa: air pressure that gauge and vacuum refer to [Pa].
        minimum, maximum: limits of the SI value; pressures absolute [Pa].

    Returns: the reading, SI value and typed text together.

    Raises ``too_long``, ``not_a_number``, ``ambiguous_thousands``, ``ambiguous_ounce``, ``ambiguous_prefix``,
    ``ambiguous_basis`` (inches of mercury without a word), ``unknown_unit``, ``below_perfect_vacuum``,
    ``below_absolute_zero``, ``not_a_limit`` (> or < where a value is needed), ``out_of_range``.
    """
    if not isinstance(text, str) or not text.strip():
        raise Refusal("not_a_number", "The value is missing or not a number.")
    if len(text) > MAXIMUM_TYPED_CHARACTERS:
        raise Refusal(
            "too_long",
            f"The text is too long for one reading (at most {MAXIMUM_TYPED_CHARACTERS} characters).",
        )
    expected = _Expected(kind, default_unit, default_basis, atmosphere_pa)
    reading = _resistance(text, expected) if kind is Kind.RESISTANCE else _plain_reading(text, expected)
    if not reading.over_range or reading.si:
        _check_range(reading, minimum, maximum)
    return reading


def _resistance(text: str, expected: _Expected) -> Quantity:
    """Read a resistance, which may be a limit: ``OL``, ``OL 2.2 GΩ``, ``> 550 MΩ``."""
    plain = plain_characters(text)
    over_range = _OVER_RANGE.match(plain)
    if over_range:
        plain = plain[over_range.end() :]
    comparator = _COMPARATOR.match(plain)
    if comparator:
        plain = plain[comparator.end() :].strip()
    sign = ">" if over_range else (comparator.group()[0] if comparator else "")
    if over_range and (not plain or not split_number(plain)[0]):
        unit = unit_named(plain or expected.unit, expected.kind)
        return Quantity(expected.kind, 0.0, text, unit.symbol, comparator=">", over_range=True)
    value, unit, basis = _value_unit_basis(plain, text, expected)
    si = from_unit(value, unit.symbol, expected.kind)
    return Quantity(expected.kind, si, text, unit.symbol, basis, sign, bool(over_range))


def _plain_reading(text: str, expected: _Expected) -> Quantity:
    plain = plain_characters(text)
    if _COMPARATOR.match(plain):
        raise Refusal(
            "not_a_limit", f"“{text.strip()}” is a limit, a value is needed: type the number alone."
        )
    if expected.kind is Kind.DURATION and (clock := _CLOCK.fullmatch(plain)):
        return _clock_reading(clock, text, expected)
    value, unit, basis = _value_unit_basis(plain, text, expected)
    if basis == "vacuum":
        value = abs(value)  # a compound gauge shows its vacuum with or without a minus
    si = from_unit(value, unit.symbol, expected.kind, basis=basis, atmosphere_pa=expected.atmosphere_pa)
    return Quantity(expected.kind, si, text, unit.symbol, basis)


def _value_unit_basis(plain: str, typed: str, expected: _Expected) -> tuple[float, Unit, str]:
    digits, rest = split_number(plain)
    if not digits:
        raise not_a_number(typed)
    if rest[:1].isdecimal():
        raise Refusal(
            "ambiguous_thousands",
            f"“{typed.strip()}” can be one number or two: type it without a space.",
            details={"choices": [f"{digits}{split_number(rest)[0]}"]},
        )
    value = number_value(digits)
    if expected.kind is not Kind.PRESSURE:
        return value, unit_named(rest or expected.unit, expected.kind), ""
    unit, basis = _pressure_unit(rest or expected.unit)
    return value, unit, basis or _basis_without_a_word(value, unit, expected)


def _pressure_unit(text: str) -> tuple[Unit, str]:
    """Return unit and basis of ``psig``, ``bar(a)`` or ``inHg vacuum``; no basis where the text has none."""
    glued = _GLUED_BASIS.fullmatch(text)
    if glued:
        return unit_named(glued[1], Kind.PRESSURE), _BASIS_WORDS[glued[2].lower()]
    found = _BASIS_AT_END.search(text)
    if found and found.start():
        return unit_named(text[: found.start()], Kind.PRESSURE), _BASIS_WORDS[found[1].strip("()").lower()]
    return unit_named(text, Kind.PRESSURE), ""


def _basis_without_a_word(value: float, unit: Unit, expected: _Expected) -> str:
    if unit.absolute:
        return "absolute"
    if unit.symbol == "inHg" and value > 0.0 and expected.basis == "gauge":
        choices = [f"{value:g} inHg vac", f"{value:g} inHg abs"]
        raise Refusal(
            "ambiguous_basis",
            f"{value:g} inHg can be a vacuum or an absolute pressure: type “{choices[0]}” or “{choices[1]}”.",
            details={"choices": choices},
        )
    return expected.basis


def _clock_reading(clock: re.Match[str], text: str, expected: _Expected) -> Quantity:
    """Read ``1:02:03`` as h:min:s and ``1:30`` as h:min where hours are asked for, else as min:s."""
    first, second, third = clock.groups()
    unit = unit_named(expected.unit, Kind.DURATION)
    if third is not None:
        seconds = 3600 * int(first) + 60 * int(second) + int(third)
    elif unit.symbol == "h":
        seconds = 3600 * int(first) + 60 * int(second)
    else:
        seconds = 60 * int(first) + int(second)
    return Quantity(Kind.DURATION, float(seconds), text, unit.symbol)


def _check_range(reading: Quantity, minimum: float | None, maximum: float | None) -> None:
    natural_minimum, natural_maximum = _NATURAL_RANGE.get(reading.kind, (None, None))
    lowest = natural_minimum if minimum is None else minimum
    highest = natural_maximum if maximum is None else maximum
    if (lowest is not None and reading.si < lowest) or (highest is not None and reading.si > highest):
        raise Refusal(
            "out_of_range",
            f"“{reading.typed.strip()}” is outside what is plausible here: check number and unit.",
            details={"si": reading.si, "minimum": lowest, "maximum": highest},
        )
