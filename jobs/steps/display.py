"""A stored value as a person reads it, on the page and in the report."""

from __future__ import annotations

from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from jobs.steps.fields import FieldKind, FieldSpec, Source
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind, Quantity, format_quantity, format_reading


def display(spec: FieldSpec, values: Values) -> str:
    """Return a value in words, empty when nothing was recorded.

    A quantity stands in its own unit; a pressure also says what showed it, and its absolute value.
    """
    if not values.has(spec.name):
        return ""
    if spec.kind is FieldKind.QUANTITY:
        return _quantity(spec, values)
    return _answer(spec, values.stored[spec.name], values)


def _quantity(spec: FieldSpec, values: Values) -> str:
    reading = values.quantity(spec.name)
    if reading is None:
        return ""
    if reading.kind is not Kind.PRESSURE:
        return format_reading(reading)
    source = str(values.stored[spec.name].get("source") or Source.GAUGE.value)
    return f"{_as_typed(reading)}, {str(Source(source).label).lower()}{_absolute(reading)}"


def _as_typed(reading: Quantity) -> str:
    basis = {"gauge": _("gauge"), "absolute": _("absolute"), "vacuum": _("vacuum")}.get(reading.basis, "")
    typed = reading.typed.strip()
    with_unit = typed if typed[-1:].isalpha() or typed.endswith(")") else f"{typed} {reading.unit}"
    return with_unit if basis and basis in with_unit else f"{with_unit} {basis}".strip()


def _absolute(reading: Quantity) -> str:
    if reading.basis == "absolute":
        return ""
    unit = "bar" if reading.si >= 10_000.0 else "mbar"
    return f" = {format_quantity(reading.si, Kind.PRESSURE, unit, basis='absolute')}"


def _answer(spec: FieldSpec, stored: Any, values: Values) -> str:
    if spec.kind is FieldKind.YES_NO:
        return _("Yes") if stored else _("No")
    if spec.kind is FieldKind.PIECE:
        return f"{stored['code']} {stored['name']}"
    if spec.kind is FieldKind.DATE:
        found = values.day(spec.name)
        return date_format(found) if found else ""
    words = dict(spec.choices)
    if spec.kind is FieldKind.MULTI:
        return ", ".join(str(words.get(item, item)) for item in stored)
    return str(words.get(stored, stored))
