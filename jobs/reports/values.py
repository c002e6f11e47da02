"""The values of a step on paper: what was typed, and beside it what it means in the units of the workshop."""

from __future__ import annotations

import re

from jobs.steps.display import display
from jobs.steps.fields import FieldKind, FieldSpec, Source
from jobs.steps.values import Values
from shopcool.core.documents import Fact
from shopcool.engineering.quantities import Kind, Quantity, format_quantity, format_reading
from shopcool.shop.models import Shop
from shopcool.shop.selectors import atmosphere_pa
from shopcool.shop.units import preferred_unit

#: From here on an absolute pressure reads better in bar than in mbar [Pa].
_BAR_FROM_PA = 10_000.0
_NUMBER = re.compile(r"[<>]?\s*-?[\d.,]+")


def value_fact(spec: FieldSpec, values: Values, shop: Shop) -> Fact | None:
    """Return a recorded value, None when there is none."""
    label = str(spec.label)
    if spec.kind is not FieldKind.QUANTITY:
        text = display(spec, values)
        return Fact(label, text) if text else None
    reading = values.quantity(spec.name)
    if reading is None:
        return None
    meaning = _meanings(reading, shop)
    if reading.kind is Kind.PRESSURE:
        source = values.stored[spec.name].get("source") or Source.GAUGE.value
        meaning.append(str(Source(source).label).lower() if spec.sources else "")
    typed = _typed(reading)
    return Fact(label, typed, ", ".join(part for part in meaning if part and not _same(part, typed)))


def _typed(reading: Quantity) -> str:
    """Return what was typed, with its unit where the field gave it."""
    typed = " ".join(reading.typed.split())
    bare = typed[-1:].isdigit() and ":" not in typed
    return f"{typed} {reading.unit}" if bare else typed


def _meanings(reading: Quantity, shop: Shop) -> list[str]:
    unit, air = preferred_unit(shop, reading.kind), atmosphere_pa(shop)
    if reading.kind is not Kind.PRESSURE:
        own = reading.kind in {Kind.MASS, Kind.VOLUME, Kind.TEMPERATURE}
        return [format_reading(reading, unit=unit if own else "")]
    absolute_unit = "bar" if reading.si >= _BAR_FROM_PA else "mbar"
    absolute = format_quantity(reading.si, Kind.PRESSURE, absolute_unit, basis="absolute")
    if reading.basis == "absolute":
        return [absolute]
    return [format_reading(reading, unit=unit, atmosphere_pa=air), absolute]


def _same(meaning: str, typed: str) -> bool:
    """Whether a meaning only repeats what was typed, as 550.0 g repeats 550 g, and 99.7 % repeats 99,7 %."""
    one, other = _NUMBER.match(meaning), _NUMBER.match(typed)
    if one is None or other is None:
        return meaning.casefold() == typed.casefold()
    rest = meaning[one.end() :].strip() == typed[other.end() :].strip()
    return rest and _plain(one[0]) == _plain(other[0])


def _plain(number: str) -> float | str:
    """Return a number that is written without thousands, any other text as it is."""
    try:
        return float(number.replace(",", ".").strip("<> "))
    except ValueError:
        return number
