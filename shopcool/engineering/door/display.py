"""A result as a plain table or as JSON."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from enum import Enum

from shopcool.engineering.door.units import COMPOUND_UNITS, compound_unit, split_unit
from shopcool.engineering.properties import State
from shopcool.engineering.quantities import Kind, format_quantity, to_unit, units_of
from shopcool.engineering.quantities.units import unit_named
from shopcool.engineering.results import Notice

_LONGEST_SHOWN_LIST, _LONGEST_NAMED_LIST = 8, 20
_PLACE = re.compile(r"_\d+_")
_FIRST = ("verdict", "sentence")
_KILOGRAMS_FROM_KG = 10.0
_FEW, _MOST_DIGITS = 10.0, 6
_SHOWN_UNITS: dict[Kind, str] = {Kind.PRESSURE: "bar", Kind.PRESSURE_DIFFERENCE: "kPa", Kind.RESISTANCE: "MΩ"}


@dataclass(frozen=True)
class Row:
    """One line of the table."""

    name: str
    value: str


def plain(value: object) -> object:
    """Return a result as JSON values in SI units, keyed by the names of its fields."""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(plain(key)): plain(item) for key, item in value.items()}
    if is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, State):
        return plain(value._asdict())
    if isinstance(value, tuple | list | frozenset):
        return [plain(item) for item in value]
    return value


def as_json(value: object) -> str:
    """Return a result as JSON text, in SI units."""
    return json.dumps(plain(value), indent=2, ensure_ascii=False, allow_nan=False)


def as_table(result: object) -> str:
    """Return a result as lines of name and value, in units of the trade."""
    rows = sorted(_rows("", result), key=lambda row: row.name not in _FIRST)
    width = max((len(row.name) for row in rows), default=0)
    return "\n".join(f"{row.name:<{width}}  {row.value}".rstrip() for row in rows)


def _rows(name: str, value: object) -> Iterator[Row]:
    """Return the rows of a value; those of a record carry its name before theirs."""
    if isinstance(value, Notice):
        yield Row("note", value.message)
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from _rows(_joined(name, field.name), getattr(value, field.name))
    elif isinstance(value, State):
        return  # states are for charts and programs; --json shows them
    elif isinstance(value, Mapping):
        for key, item in value.items():
            yield from _rows(_joined(name, str(plain(key))), item)
    elif isinstance(value, frozenset):
        yield from _list_rows(name, sorted(value, key=str))
    elif isinstance(value, tuple | list):
        yield from _list_rows(name, value)
    else:
        label, shown = _named(name, value)
        yield Row(label, shown)


def _list_rows(name: str, values: Sequence[object]) -> Iterator[Row]:
    """Return the rows of a list: records each with their place, or in one line each, or only counted."""
    if not values:
        return
    if not any(is_dataclass(value) for value in values):
        label = _named(name, values[0])[0]
        yield Row(label, ", ".join(_named(name, value)[1] for value in values))
    elif len(values) > (_LONGEST_SHOWN_LIST if _PLACE.search(name) else _LONGEST_NAMED_LIST):
        yield Row(_words(name), f"{len(values)} entries; use --json to see them")
    elif len(values) > _LONGEST_SHOWN_LIST:
        yield from (
            Row(f"{_words(name)} {place}", _in_one_line(value)) for place, value in enumerate(values, 1)
        )
    else:
        for place, value in enumerate(values, 1):
            yield from _rows(f"{name}_{place}", value)


def _in_one_line(record: object) -> str:
    """Return the plain values of a record, without its lists and records."""
    rows = [row for row in _rows("", record) if " " not in row.name]
    return ", ".join(row.value for row in rows if row.value)


def _joined(name: str, part: str) -> str:
    """Return the name of a part of something; the unit of a measured value stays at the end."""
    stem, kind = split_unit(name)
    if kind is not None and part in ("value", "standard"):
        return f"{stem}_{part}_{name.removeprefix(stem).removeprefix('_')}"
    if not name or part.startswith(f"{name}_"):
        return part
    return f"{name}_{part}"


def _named(name: str, value: object) -> tuple[str, str]:
    """Return label and text of one value."""
    stem, kind = split_unit(name)
    if isinstance(value, bool):
        return _words(name), "yes" if value else "no"
    if value is None:
        return _words(stem), "not known"
    if isinstance(value, Enum):
        return _words(name), str(value.value)
    if not isinstance(value, float | int):
        return _words(name), str(value)
    if kind is not None:
        return _words(stem), _quantity_text(float(value), kind)
    if isinstance(value, int):
        return _words(name), str(value)
    symbol, worth = COMPOUND_UNITS.get(compound_unit(name), ("", 1.0))
    return _words(stem), f"{value * worth:.4g} {symbol}".strip()


def _quantity_text(si: float, kind: Kind) -> str:
    """Return a value in a unit of the trade, with two digits at least."""
    unit = _SHOWN_UNITS.get(kind, units_of(kind)[0])
    if kind is Kind.MASS and abs(si) >= _KILOGRAMS_FROM_KG:
        unit = "kg"
    number = abs(to_unit(si, unit, kind, basis="absolute"))
    digits = unit_named(unit, kind).decimals
    if 10.0**-_MOST_DIGITS < number < _FEW:
        digits = max(digits, 1 - math.floor(math.log10(number)))
    return format_quantity(si, kind, unit, basis="absolute", digits=digits)


def _words(name: str) -> str:
    return name.replace("_", " ")
