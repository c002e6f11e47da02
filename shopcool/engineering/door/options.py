"""From a function's parameters to the options of a command, and from typed texts to arguments."""

from __future__ import annotations

import functools
import inspect
import re
import types
import typing
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import Enum

from shopcool.engineering.door.units import split_unit
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import Kind, Quantity, parse, units_of
from shopcool.engineering.quantities.number_text import number_value, plain_characters

_HELP = re.compile(r"^\s{8}(\w+(?:, \w+)*): (.+(?:\n\s{12}.+)*)", re.MULTILINE)
# A reading without unit is taken in the customary one, except where a wrong guess would be dangerous.
DEFAULT_UNITS: dict[Kind, str] = {kind: units_of(kind)[0] for kind in Kind}


@dataclass(frozen=True)
class Option:
    """One option of a command: the parameter it feeds and how its text is read."""

    parameter: str
    name: str
    required: bool
    several: bool
    flag: bool
    choices: tuple[str, ...]
    description: str
    read: Callable[[str, float], object]


@functools.cache
def options_of(function: Callable[..., object]) -> tuple[Option, ...]:
    """Return the options of a function; parameters of other types must have a default and are left out."""
    hints = typing.get_type_hints(function)
    descriptions = _descriptions(function)
    made = []
    for parameter in inspect.signature(function).parameters.values():
        annotation, several = _plain_type(hints[parameter.name])
        read = _reader(parameter.name, annotation)
        if read is None:
            continue
        made.append(
            Option(
                parameter=parameter.name,
                name=_option_name(parameter.name, annotation),
                required=parameter.default is inspect.Parameter.empty,
                several=several,
                flag=annotation is bool,
                choices=_choices(annotation),
                description=descriptions.get(parameter.name, "") or _kind_text(parameter.name, annotation),
                read=read,
            )
        )
    return tuple(made)


def _option_name(parameter: str, annotation: object) -> str:
    stem = split_unit(parameter)[0] if annotation in (float, Quantity) else parameter
    return stem.replace("_", "-")


def _plain_type(hint: object) -> tuple[object, bool]:
    """Return the type of one value, without None, and whether several may be given."""
    origin = typing.get_origin(hint)
    if origin in (types.UnionType, typing.Union):
        return _plain_type(next(part for part in typing.get_args(hint) if part is not types.NoneType))
    if origin in (tuple, Sequence, list):
        return typing.get_args(hint)[0], True
    return hint, False


def _choices(annotation: object) -> tuple[str, ...]:
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        return tuple(str(member.value) for member in annotation)
    return ()


def _reader(parameter: str, annotation: object) -> Callable[[str, float], object] | None:
    """Return how a text becomes an argument, given the air pressure [Pa]; None for other types."""
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        return lambda text, air_pa: annotation(text)
    if annotation is Quantity:
        return lambda text, air_pa: _quantity(parameter, text, air_pa)
    if annotation is float:
        return lambda text, air_pa: _number(parameter, text, air_pa)
    if annotation is bool:
        return lambda text, air_pa: True
    if annotation is int:
        return lambda text, air_pa: _whole_number(text)
    if annotation is str:
        return lambda text, air_pa: text
    if annotation is date:
        return lambda text, air_pa: _day(text)
    return None


def _quantity(parameter: str, text: str, air_pa: float) -> Quantity:
    kind = split_unit(parameter)[1]
    if kind is None:
        raise TypeError(f"{parameter} names no unit")
    return parse(text, kind, default_unit=DEFAULT_UNITS[kind], atmosphere_pa=air_pa)


def _number(parameter: str, text: str, air_pa: float) -> float:
    if split_unit(parameter)[1] is None:
        return number_value(plain_characters(text))
    reading = _quantity(parameter, text, air_pa)
    if reading.comparator:
        raise Refusal("not_a_limit", f"“{text}” is a limit, a value is needed: type the number alone.")
    return reading.si


def _whole_number(text: str) -> int:
    value = number_value(plain_characters(text))
    if value != int(value):
        raise Refusal("not_whole", f"“{text}” is not a whole number.")
    return int(value)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Refusal("not_a_date", f"“{text}” is not a day: type it as 2026-01-31.") from None


def _descriptions(function: Callable[..., object]) -> dict[str, str]:
    """Return the description of each parameter from the function's own documentation."""
    text = function.__doc__ or ""
    found = {}
    for match in _HELP.finditer(text):
        for name in match[1].split(", "):
            found[name] = " ".join(match[2].split())
    return found


def _kind_text(parameter: str, annotation: object) -> str:
    kind = split_unit(parameter)[1]
    if kind is None or annotation not in (float, Quantity):
        return parameter.replace("_", " ")
    return kind.value.replace("_", " ").lower()
