"""A stored value as a person reads it: what was typed, and what it means in the reader's units."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from jobs.steps.answers import Answer, Output
from jobs.steps.fields import FieldKind, FieldSpec, Source
from jobs.steps.values import Values
from shopcool.engineering.quantities import (
    Kind,
    Quantity,
    format_quantity,
    format_reading,
    unit_named,
    usual_basis,
)
from shopcool.shop.units import VACUUM_BELOW_PA, Units

_CONVERTED = frozenset({Kind.MASS, Kind.VOLUME, Kind.TEMPERATURE})
_SAYS_BASIS = re.compile(
    r"(?:\(|\b|(?<=psi)|(?<=bar)|(?<=inHg))(?:a|abs\.?|absolute|v|vac|vacuum)\)?$", re.IGNORECASE
)
_NUMBER = re.compile(r"[<>]?\s*-?[\d.,]+")


@dataclass(frozen=True)
class Told:
    """A value in words: as it was typed, what that means, and what showed it (pressures only)."""

    typed: str
    meanings: tuple[str, ...] = ()
    shown_by: str = ""


def display(spec: FieldSpec, values: Values, units: Units) -> str:
    """Return a value in a line, empty when nothing was recorded."""
    found = told(spec, values, units)
    typed = ", ".join(part for part in (found.typed, found.shown_by) if part)
    return " = ".join((typed, *found.meanings))


def told(spec: FieldSpec, values: Values, units: Units) -> Told:
    """Return what was typed and what it means: in the reader's units, with metric ones beside."""
    if not values.has(spec.name):
        return Told("")
    if spec.kind is not FieldKind.QUANTITY:
        return Told(_answer(spec, values.stored[spec.name], values))
    reading = values.quantity(spec.name)
    if reading is None:
        return Told("")
    typed = _typed(reading)
    meanings: dict[str, None] = {}
    for told_in in (units, units.metric):
        meanings |= dict.fromkeys(_meanings(reading, told_in))
    return Told(typed, tuple(one for one in meanings if not _same(one, typed)), _shown_by(spec, values))


def retold(answer: Answer, units: Units) -> Answer:
    """Return an answer with findings and derived values in the reader's units, as recorded in brackets."""
    findings = (
        replace(
            finding,
            sentence=units.retold(finding.sentence, answer.figures),
            limit=units.retold(finding.limit, answer.figures),
        )
        for finding in answer.findings
    )
    outputs = (_retold(output, units) for output in answer.outputs)
    return replace(answer, findings=tuple(findings), outputs=tuple(outputs))


def told_again(output: Output, units: Units) -> list[str]:
    """Return a derived value in the reader's units, as it was recorded, and metric, none of them twice."""
    mine, metric = _shown(output, units), _shown(output, units.metric)
    texts = [output.text] if output.text.startswith(mine) else [mine, output.text]
    return texts if any(text.startswith(metric) for text in texts) else [*texts, metric]


def _retold(output: Output, units: Units) -> Output:
    mine = _shown(output, units)
    return output if output.text.startswith(mine) else replace(output, text=f"{mine} ({output.text})")


def _shown(output: Output, units: Units) -> str:
    """Return a derived value in the reader's units, empty where its text says all there is."""
    if output.kind is None or output.si is None:
        return ""
    return units.shown(output.si, output.kind, basis=output.basis or "gauge")


def _shown_by(spec: FieldSpec, values: Values) -> str:
    if not spec.sources:
        return ""
    source = values.stored[spec.name].get("source") or Source.GAUGE.value
    return str(Source(source).label).lower()


def _typed(reading: Quantity) -> str:
    """Return what was typed, with unit and basis where the field gave them."""
    typed = " ".join(reading.typed.split())
    if typed[-1:].isdecimal() and ":" not in typed:
        typed = f"{typed} {reading.unit}"
    unit = unit_named(reading.unit, reading.kind)
    if reading.basis in {"", "gauge", usual_basis(unit)} or _SAYS_BASIS.search(typed):
        return typed
    word = _("absolute") if reading.basis == "absolute" else _("vacuum")
    return f"{typed} {word}"


def _meanings(reading: Quantity, units: Units) -> list[str]:
    if reading.kind in _CONVERTED:
        return [format_reading(reading, unit=units.of_kind(reading.kind))]
    if reading.kind is not Kind.PRESSURE:
        return [format_reading(reading)]
    absolute = _absolute(reading.si, units)
    if reading.basis == "absolute":
        return [absolute]
    return [format_reading(reading, unit=units.pressure, atmosphere_pa=units.atmosphere_pa), absolute]


def _absolute(pressure_pa: float, units: Units) -> str:
    unit = units.fine_vacuum if pressure_pa < VACUUM_BELOW_PA else units.pressure
    return format_quantity(pressure_pa, Kind.PRESSURE, unit, basis="absolute")


def _same(meaning: str, typed: str) -> bool:
    """Whether a meaning only repeats what was typed, as 550.0 g repeats 550 g, and 99.7 % repeats 99,68 %."""
    one, other = _NUMBER.match(meaning), _NUMBER.match(typed)
    if one is None or other is None:
        return meaning.casefold() == typed.casefold()
    rest = meaning[one.end() :].strip() == typed[other.end() :].strip()
    decimals = len(one[0].partition(".")[2])
    return rest and _plain(one[0], decimals) == _plain(other[0], decimals)


def _plain(number: str, decimals: int) -> float | str:
    """Return a rounded number that is written without thousands, any other text as it is."""
    try:
        return round(float(number.replace(",", ".").strip("<> ")), decimals)
    except ValueError:
        return number


def _answer(spec: FieldSpec, stored: Any, values: Values) -> str:
    if spec.kind is FieldKind.YES_NO:
        return _("Yes") if stored else _("No")
    if spec.kind in {FieldKind.PIECE, FieldKind.LOT, FieldKind.INSTRUMENT}:
        return f"{stored['code']} {stored['name']}"
    if spec.kind is FieldKind.DATE:
        found = values.day(spec.name)
        return date_format(found) if found else ""
    words = dict(spec.choices)
    if spec.kind is FieldKind.MULTI:
        return ", ".join(str(words.get(item, item)) for item in stored)
    return str(words.get(stored, stored))
