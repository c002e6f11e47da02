"""Read what was typed into a step's fields, with every error at once and beside its field."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from jobs.errors import ValuesInvalid
from jobs.steps.context import StepContext
from jobs.steps.fields import OTHER_INSTRUMENT, FieldKind, FieldSpec, Source, shown_fields
from jobs.steps.values import Values
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import Kind, format_quantity, parse

_BASES = ("", "gauge", "absolute", "vacuum")


class _Wrong(Exception):
    """A value that can't be used, with the sentence that says why."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


def read_values(fields: Sequence[FieldSpec], raw: Mapping[str, Any], context: StepContext) -> Values:
    """Return the values of a step as they are kept.

    ``raw`` is flat: a quantity may come with ``<name>_unit``, ``<name>_basis`` and ``<name>_source``. Fields
    that the other answers do not ask for are dropped. Raises ValuesInvalid with every wrong field.
    """
    stored: dict[str, Any] = {}
    wrong: dict[str, list[str]] = {}
    for spec in shown_fields(fields, raw):
        try:
            value = _read(spec, raw, context)
        except _Wrong as error:
            wrong[spec.name] = [error.sentence]
            continue
        if value is not None:
            stored[spec.name] = value
        if value is not None and spec.is_air:
            context = context.under(value["si"])
    if wrong:
        raise ValuesInvalid(wrong)
    return Values(stored)


def _read(spec: FieldSpec, raw: Mapping[str, Any], context: StepContext) -> Any:
    typed = raw.get(spec.name)
    if typed is None or typed == "" or typed == [] or (isinstance(typed, str) and not typed.strip()):
        if spec.required:
            raise _Wrong(_("This is needed."))
        return None
    if isinstance(typed, str) and not _can_be_kept(typed):
        raise _Wrong(_("This holds a character that can't be kept: type it again."))
    return _READERS[spec.kind](spec, typed, raw, context)


def _can_be_kept(typed: str) -> bool:
    """Whether a text has no control characters and no halves of characters, which no database takes."""
    return not any(unicodedata.category(letter) in {"Cc", "Cs"} for letter in typed if letter not in "\n\r\t")


def _quantity(spec: FieldSpec, typed: Any, raw: Mapping[str, Any], context: StepContext) -> Any:
    if spec.quantity is None:
        raise TypeError(f"{spec.name} has no kind of quantity.")
    if isinstance(typed, bool) or not isinstance(typed, str | int | float):
        raise _Wrong(_("The value is missing or not a number."))
    basis = _basis(spec, raw)
    source = {"source": _source(spec, typed, basis, raw)} if spec.sources else {}
    try:
        reading = parse(
            str(typed),
            spec.quantity,
            default_unit=str(raw.get(f"{spec.name}_unit") or context.unit_of(spec)),
            default_basis=basis or spec.basis,
            atmosphere_pa=context.atmosphere_pa,
            minimum=spec.minimum,
            maximum=spec.maximum,
        )
    except Refusal as refusal:
        raise _Wrong(_sentence(spec, refusal, context)) from refusal
    return {**reading.as_record(), **source}


def _basis(spec: FieldSpec, raw: Mapping[str, Any]) -> str:
    basis = str(raw.get(f"{spec.name}_basis") or "")
    if spec.quantity is Kind.PRESSURE and basis not in _BASES:
        raise _Wrong(_("A pressure is gauge, absolute or vacuum."))
    return basis


def _source(spec: FieldSpec, typed: Any, basis: str, raw: Mapping[str, Any]) -> str:
    source = str(raw.get(f"{spec.name}_source") or Source.GAUGE.value)
    if source not in Source.values:
        raise _Wrong(_("Say what showed the pressure: a gauge or a scan tool."))
    says_itself = str(typed).strip().lower().endswith(("g", "a", "abs", "gauge", "absolute", ")"))
    if source == Source.SCAN_TOOL and not basis and not says_itself:
        raise _Wrong(_("Say whether the scan tool shows gauge or absolute pressure; many show absolute."))
    return source


def _sentence(spec: FieldSpec, refusal: Refusal, context: StepContext) -> str:
    if refusal.code == "out_of_range" and spec.range_sentence:
        return str(spec.range_sentence)
    if refusal.code == "below_perfect_vacuum":
        inhg, kpa = (_air(unit, context) for unit in ("inHg", "kPa"))
        return _(
            "%(sentence)s The air at this workshop stands at %(inhg)s, %(kpa)s: a gauge that shows more "
            "vacuum than that has an error of its own, or altitude or barometer are wrong."
        ) % {
            "sentence": refusal.message,
            "inhg": inhg,
            "kpa": kpa,
        }
    return refusal.message


def _air(unit: str, context: StepContext) -> str:
    air = context.atmosphere_pa
    return format_quantity(air, Kind.PRESSURE, unit, basis="absolute", atmosphere_pa=air)


def _text(spec: FieldSpec, typed: Any, raw: Mapping[str, Any], context: StepContext) -> str:
    if isinstance(typed, bool) or not isinstance(typed, str | int | float):
        raise _Wrong(_("Words belong here."))
    found = str(typed).strip()
    if len(found) > spec.maximum_length:
        raise _Wrong(_("At most %(number)d characters.") % {"number": spec.maximum_length})
    return found


def _choice(spec: FieldSpec, typed: Any, raw: Mapping[str, Any], context: StepContext) -> str:
    if str(typed) not in dict(spec.choices):
        raise _Wrong(_("Choose one of the answers."))
    return str(typed)


def _multi(spec: FieldSpec, typed: Any, raw: Mapping[str, Any], context: StepContext) -> list[str]:
    chosen = [typed] if isinstance(typed, str) else list(typed) if isinstance(typed, list | tuple) else []
    known = dict(spec.choices)
    if not chosen or any(str(item) not in known for item in chosen):
        raise _Wrong(_("Choose from the answers."))
    return [value for value in known if value in {str(item) for item in chosen}]


def _yes_no(spec: FieldSpec, typed: Any, raw: Mapping[str, Any], context: StepContext) -> bool:
    words = {"yes": True, "true": True, "no": False, "false": False}
    answer = words.get(str(typed).strip().lower())
    if answer is None:
        raise _Wrong(_("Say yes or no."))
    return answer


def _day(spec: FieldSpec, typed: Any, raw: Mapping[str, Any], context: StepContext) -> str:
    try:
        return date.fromisoformat(str(typed).strip()).isoformat()
    except ValueError as error:
        raise _Wrong(_("This is not a date; write it as 2026-03-31.")) from error


def _piece(spec: FieldSpec, typed: Any, raw: Mapping[str, Any], context: StepContext) -> dict[str, object]:
    found = next((piece for piece in context.pieces_for(spec) if str(piece.id) == str(typed).strip()), None)
    if found is None:
        raise _Wrong(_("This piece can't be used here: no clearance of this job has put it on the vehicle."))
    return {"id": found.id, "code": found.code, "name": found.name}


def _lot(spec: FieldSpec, typed: Any, raw: Mapping[str, Any], context: StepContext) -> dict[str, object]:
    found = next((lot for lot in context.oil.lots if str(lot.id) == str(typed).strip()), None)
    if found is None:
        raise _Wrong(_("This lot is not on the shelf."))
    if found.why_not:
        raise _Wrong(found.why_not)
    return {"id": found.id, "code": found.code, "name": found.grade}


def _instrument(
    spec: FieldSpec, typed: Any, raw: Mapping[str, Any], context: StepContext
) -> dict[str, object] | None:
    if str(typed).strip() == OTHER_INSTRUMENT:
        return None
    kinds = spec.pieces.kinds if spec.pieces else frozenset()
    found = next((one for one in context.instruments if str(one.id) == str(typed).strip()), None)
    if found is None or found.kind not in kinds:
        raise _Wrong(_("This instrument is not registered for this work."))
    if found.why_not:
        raise _Wrong(found.why_not)
    return found.as_record()


_READERS: dict[FieldKind, Callable[[FieldSpec, Any, Mapping[str, Any], StepContext], Any]] = {
    FieldKind.QUANTITY: _quantity,
    FieldKind.TEXT: _text,
    FieldKind.LONG_TEXT: _text,
    FieldKind.CHOICE: _choice,
    FieldKind.MULTI: _multi,
    FieldKind.YES_NO: _yes_no,
    FieldKind.DATE: _day,
    FieldKind.PIECE: _piece,
    FieldKind.LOT: _lot,
    FieldKind.INSTRUMENT: _instrument,
}
