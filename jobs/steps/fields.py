"""What a step asks for: one description from which page forms, the API and the report are all made."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from django.db.models import TextChoices
from django.utils.translation import gettext_lazy as _

from equipment.choices import PieceKind
from shopcool.engineering.quantities import Kind

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise

    Text = str | _StrPromise
else:
    Text = object

Choices = tuple[tuple[str, Text], ...]


class FieldKind(StrEnum):
    """How a value is typed and kept."""

    QUANTITY = "QUANTITY"
    TEXT = "TEXT"
    LONG_TEXT = "LONG_TEXT"
    CHOICE = "CHOICE"
    MULTI = "MULTI"
    YES_NO = "YES_NO"
    DATE = "DATE"
    PIECE = "PIECE"
    LOT = "LOT"
    INSTRUMENT = "INSTRUMENT"


class Source(TextChoices):
    """What showed a pressure."""

    GAUGE = "GAUGE", _("On a gauge")
    SCAN_TOOL = "SCAN_TOOL", _("On a scan tool")


class Scale(StrEnum):
    """An instrument whose unit is not the usual one of its quantity; the reader's units know it."""

    VACUUM_GAUGE = "VACUUM_GAUGE"
    BAROMETER = "BAROMETER"
    CYLINDER = "CYLINDER"


class PieceScope(StrEnum):
    """Which pieces a field offers."""

    ANY = "ANY"
    CONNECTED = "CONNECTED"
    CLEARED = "CLEARED"


@dataclass(frozen=True)
class ShownIf:
    """A field is asked for only when another one has one of these values."""

    field: str
    values: tuple[str, ...]

    def holds(self, raw: Mapping[str, Any]) -> bool:
        """Return whether the typed values ask for the field."""
        value = raw.get(self.field, "")
        if isinstance(value, bool):
            value = "yes" if value else "no"
        return str(value) in self.values


@dataclass(frozen=True)
class PieceFilter:
    """Which pieces a field offers, and with which mark."""

    kinds: frozenset[PieceKind]
    scope: PieceScope
    marked_for_contaminated: bool = False


@dataclass(frozen=True)
class FieldSpec:
    """One field of a step.

    For quantities: ``unit`` is the unit of a bare number (empty: the shop's preference), ``basis`` that of a
    pressure that does not say, ``minimum`` and ``maximum`` are SI limits (pressures absolute [Pa]) whose
    breach is answered with ``range_sentence``. ``required`` counts only while the field is shown. ``scale``:
    the instrument whose unit a bare number has, where it is not the usual one of its quantity. ``is_air``:
    what a barometer shows, on which every gauge pressure after it rests.
    """

    name: str
    label: Text
    kind: FieldKind
    required: bool = True
    help: Text = ""
    quantity: Kind | None = None
    unit: str = ""
    scale: Scale | None = None
    basis: str = "gauge"
    minimum: float | None = None
    maximum: float | None = None
    range_sentence: Text = ""
    sources: bool = False
    choices: Choices = ()
    shown_if: ShownIf | None = None
    pieces: PieceFilter | None = None
    maximum_length: int = 300
    is_air: bool = False

    def optional(self) -> FieldSpec:
        """Return the field as one that may stay empty."""
        return replace(self, required=False)

    def when(self, field: str, *values: str) -> FieldSpec:
        """Return the field as one that is asked for only when another has one of these values."""
        return replace(self, shown_if=ShownIf(field, values))


#: What the answer of an instrument field is when the instrument is none of the registered ones.
OTHER_INSTRUMENT = "OTHER"


def shown_fields(fields: Sequence[FieldSpec], raw: Mapping[str, Any]) -> list[FieldSpec]:
    """Return the fields that the typed values ask for; a hidden answer never asks for another one.

    No instrument chosen is another one than those registered.
    """
    asked: dict[str, Any] = {}
    shown = []
    for spec in fields:
        if spec.shown_if is None or spec.shown_if.holds(asked):
            asked[spec.name] = raw.get(spec.name, "")
            if spec.kind is FieldKind.INSTRUMENT:
                asked[spec.name] = asked[spec.name] or OTHER_INSTRUMENT
            shown.append(spec)
    return shown


def text(name: str, label: Text, *, help: Text = "") -> FieldSpec:
    """Return a field for one line of text."""
    return FieldSpec(name, label, FieldKind.TEXT, help=help, maximum_length=200)


def long_text(name: str, label: Text, *, help: Text = "") -> FieldSpec:
    """Return a field for some lines of text."""
    return FieldSpec(name, label, FieldKind.LONG_TEXT, help=help, maximum_length=1000)


def choice(name: str, label: Text, choices: Choices, *, help: Text = "") -> FieldSpec:
    """Return a field for one of several answers."""
    return FieldSpec(name, label, FieldKind.CHOICE, help=help, choices=choices)


def multi(name: str, label: Text, choices: Choices, *, help: Text = "") -> FieldSpec:
    """Return a field for any number of answers."""
    return FieldSpec(name, label, FieldKind.MULTI, required=False, help=help, choices=choices)


def yes_no(name: str, label: Text, *, help: Text = "") -> FieldSpec:
    """Return a field for yes or no; no answer is not a no."""
    return FieldSpec(name, label, FieldKind.YES_NO, help=help, choices=(("yes", _("Yes")), ("no", _("No"))))


def day(name: str, label: Text, *, help: Text = "") -> FieldSpec:
    """Return a field for a date."""
    return FieldSpec(name, label, FieldKind.DATE, help=help)


def piece(
    name: str,
    label: Text,
    *kinds: PieceKind,
    scope: PieceScope = PieceScope.CONNECTED,
    marked: bool = False,
    help: Text = "",
) -> FieldSpec:
    """Return a field for one piece of wetted equipment."""
    found = PieceFilter(frozenset(kinds), scope, marked)
    return FieldSpec(name, label, FieldKind.PIECE, help=help, pieces=found)


def instrument(name: str, label: Text, *kinds: PieceKind, help: Text = "") -> FieldSpec:
    """Return a field for a registered instrument, or another one; it may stay empty."""
    found = PieceFilter(frozenset(kinds), PieceScope.ANY)
    return FieldSpec(name, label, FieldKind.INSTRUMENT, required=False, help=help, pieces=found)


def oil_lot(name: str, label: Text, *, help: Text = "") -> FieldSpec:
    """Return a field for a container of oil on the shelf."""
    return FieldSpec(name, label, FieldKind.LOT, help=help)


def quantity(
    name: str,
    label: Text,
    kind: Kind,
    *,
    unit: str = "",
    limits: tuple[float | None, float | None] = (None, None),
    sentence: Text = "",
    help: Text = "",
) -> FieldSpec:
    """Return a field for a number with a unit; ``limits`` in SI, their breach answered with ``sentence``."""
    return FieldSpec(
        name,
        label,
        FieldKind.QUANTITY,
        help=help,
        quantity=kind,
        unit=unit,
        minimum=limits[0],
        maximum=limits[1],
        range_sentence=sentence,
    )


def pressure(name: str, label: Text, *, basis: str = "gauge", help: Text = "") -> FieldSpec:
    """Return a field for a pressure that keeps its kind and what showed it."""
    field = quantity(
        name,
        label,
        Kind.PRESSURE,
        limits=(0.0, 20e6),
        sentence=_("No service gauge shows more than 200 bar: check number and unit."),
        help=help,
    )
    return replace(field, basis=basis, sources=True)


def vacuum(name: str, label: Text, *, help: Text = "") -> FieldSpec:
    """Return a field for an absolute pressure far below the air, as a vacuum gauge shows it."""
    return replace(pressure(name, label, basis="absolute", help=help), scale=Scale.VACUUM_GAUGE)


#: What a circuit with its hoses holds where nobody knows better [m³] (common practice).
ASSUMED_VOLUME_M3 = 3e-3


def circuit_volume() -> FieldSpec:
    """Return a field for the volume that a hold under vacuum or pressure speaks of."""
    sentence = _("A vehicle's circuit holds 0.1 to 100 litres: check number and unit.")
    help = _("Leave empty to assume 3 litres.")
    label = _("Volume of circuit and hoses")
    limits = (1e-4, 0.1)
    return quantity("volume", label, Kind.VOLUME, unit="l", limits=limits, sentence=sentence, help=help)


def barometer(name: str, label: Text, *, help: Text = "") -> FieldSpec:
    """Return a field for the air pressure here and now: absolute, and by nothing but a barometer."""
    field = pressure(name, label, basis="absolute", help=help)
    sentence = _("The air stands between 500 and 1100 mbar on any road: check number and unit.")
    limits = {"minimum": 50_000.0, "maximum": 110_000.0, "range_sentence": sentence}
    return replace(field, **limits, scale=Scale.BAROMETER, sources=False, is_air=True).optional()  # type: ignore[arg-type]


def mass(name: str, label: Text, *, help: Text = "") -> FieldSpec:
    """Return a field for a refrigerant mass of a vehicle."""
    sentence = _("No vehicle holds more than 30 kg of refrigerant: check number and unit.")
    return quantity(name, label, Kind.MASS, limits=(0.0, 30.0), sentence=sentence, help=help)


def oil_volume(name: str, label: Text, *, help: Text = "") -> FieldSpec:
    """Return a field for a volume of oil."""
    sentence = _("Oil amounts lie between 0 and 2 litres: check number and unit.")
    return quantity(name, label, Kind.VOLUME, limits=(0.0, 2e-3), sentence=sentence, help=help)


def temperature(name: str, label: Text, *, help: Text = "") -> FieldSpec:
    """Return a field for a temperature of air or of a part."""
    sentence = _("Temperatures in a workshop lie between −40 and 150 °C: check number and unit.")
    return quantity(name, label, Kind.TEMPERATURE, limits=(233.15, 423.15), sentence=sentence, help=help)


def duration(name: str, label: Text, *, unit: str = "min", help: Text = "") -> FieldSpec:
    """Return a field for a length of time."""
    sentence = _("A step takes less than two days: check number and unit.")
    return quantity(
        name, label, Kind.DURATION, unit=unit, limits=(0.0, 172_800.0), sentence=sentence, help=help
    )


def share(name: str, label: Text, *, help: Text = "") -> FieldSpec:
    """Return a field for a share in per cent."""
    sentence = _("A share lies between 0 and 100 %.")
    return quantity(name, label, Kind.FRACTION, unit="%", limits=(0.0, 1.0), sentence=sentence, help=help)
