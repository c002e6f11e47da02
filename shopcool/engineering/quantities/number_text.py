"""From the digits that a person typed to one number, or a question back."""

from __future__ import annotations

import math
import re
import unicodedata

from shopcool.engineering.errors import Refusal

# Spaces that typographers put between groups of three digits; an ordinary space there is asked about.
_GROUPING_SPACES = "\u00a0\u2007\u2008\u2009\u202f"
_REPLACED = {
    "\u2212": "-", "\u2013": "-", "\u2010": "-", "\u2011": "-", "\ufe63": "-", "\uff0d": "-",
    "\u066b": ".", "\u066c": "'", "\u060c": ",", "\u066a": "%", "\u2019": "'", "\u02bc": "'",
    "\u2126": "Ω", "\u03bc": "µ", "\u2265": ">", "\u2264": "<", "\u2103": "°C", "\u2109": "°F",
    "\u200e": "", "\u200f": "", "\u061c": "", "\ufeff": "", "\u2060": "",
}  # fmt: skip
_NUMBER = re.compile(r"[+-]?(?:\d[\d.,'_\u00a0]*|[.,]\d+)(?:[eE][+-]?\d+)?")
_GROUPED = re.compile(r"\d{1,3}(?:(?P<mark>[.,'])\d{3})(?:(?P=mark)\d{3})*")


def plain_characters(text: str) -> str:
    """Return the text with every script's digits, minus signs and spaces in one plain spelling.

    Grouping spaces between digits become apostrophes, all other white space one ordinary space. Superscripts
    are left alone: they are not digits of the number.
    """
    characters = []
    for position, character in enumerate(text):
        if character in _GROUPING_SPACES and _is_between_digits(text, position):
            characters.append("'")
        elif unicodedata.category(character) == "Nd":
            characters.append(str(unicodedata.decimal(character)))
        elif character.isspace():
            characters.append(" ")
        else:
            characters.append(_REPLACED.get(character, character))
    return "".join(characters).strip()


def split_number(plain: str) -> tuple[str, str]:
    """Return the leading number of a plain text, empty when there is none, and what follows it."""
    found = _NUMBER.match(plain)
    if found is None:
        return "", plain
    return found.group(), plain[found.end() :].strip()


def number_value(digits: str) -> float:
    """Return the value of a typed number with a comma or a point as decimal mark.

    Raises ``ambiguous_thousands`` for ``1,234`` (the choices are in the details), else ``not_a_number``.
    """
    mantissa, exponent = _mantissa_and_exponent(digits)
    sign = mantissa[0] if mantissa[:1] in ("+", "-") else ""
    plain = _with_decimal_point(mantissa.removeprefix(sign), digits)
    try:
        value = float(f"{sign}{plain}e{exponent}")
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise not_a_number(digits)
    return value


def not_a_number(typed: str) -> Refusal:
    """Return the refusal of a text that holds no number."""
    return Refusal("not_a_number", f"“{typed.strip()}” is missing or not a number.")


def _is_between_digits(text: str, position: int) -> bool:
    return 0 < position < len(text) - 1 and text[position - 1].isdecimal() and text[position + 1].isdecimal()


def _mantissa_and_exponent(digits: str) -> tuple[str, str]:
    mantissa, _, exponent = digits.lower().partition("e")
    return mantissa, exponent or "0"


def _with_decimal_point(body: str, typed: str) -> str:
    """Return the digits with one decimal point and no grouping."""
    if "'" in body:
        grouped, mark, decimals = _split_at_last(body)
        return f"{_ungrouped(grouped, typed)}{mark and '.'}{decimals}"
    commas, points = body.count(","), body.count(".")
    if commas and points:
        grouped, _, decimals = _split_at_last(body)
        return f"{_ungrouped(grouped, typed)}.{decimals}"
    if commas > 1 or points > 1:
        return _ungrouped(body, typed)
    if commas and _GROUPED.fullmatch(body) and not body.startswith("0"):
        raise _asked_thousands(body)
    return body.replace(",", ".")


def _split_at_last(body: str) -> tuple[str, str, str]:
    position = max(body.rfind(","), body.rfind("."))
    if position < 0:
        return body, "", ""
    return body[:position], body[position], body[position + 1 :]


def _ungrouped(body: str, typed: str) -> str:
    if body.isdecimal():
        return body
    if not _GROUPED.fullmatch(body):
        raise not_a_number(typed)
    return "".join(character for character in body if character.isdecimal())


def _asked_thousands(body: str) -> Refusal:
    decimal, whole = body.replace(",", "."), body.replace(",", "")
    return Refusal(
        "ambiguous_thousands",
        f"“{body}” can mean {decimal} or {whole}: type it as {decimal} or as {whole}.",
        details={"choices": [decimal, whole]},
    )
