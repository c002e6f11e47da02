"""The box of a reading: number, unit, and for a pressure its kind and what showed it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from django import forms
from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

from jobs.steps.fields import FieldSpec, Source
from shopcool.engineering.quantities import Kind, units_of

#: The units a workshop reads from its instruments; every other one may still be typed after the number.
CUSTOMARY: dict[Kind, tuple[str, ...]] = {
    Kind.PRESSURE: ("bar", "kPa", "psi", "inHg", "mbar", "micron"),
    Kind.PRESSURE_DIFFERENCE: ("mbar", "kPa", "micron", "Pa"),
    Kind.TEMPERATURE: ("°C", "°F"),
    Kind.TEMPERATURE_DIFFERENCE: ("K", "°F"),
    Kind.MASS: ("g", "kg", "oz", "lb"),
    Kind.RESISTANCE: ("MΩ", "GΩ", "kΩ"),
    Kind.VOLTAGE: ("V",),
    Kind.DURATION: ("min", "s", "h"),
    Kind.FRACTION: ("%",),
}
BASES = (
    ("", _("by the unit")),
    ("gauge", _("gauge")),
    ("absolute", _("absolute")),
    ("vacuum", _("vacuum")),
)


class Reading(NamedTuple):
    """What a person typed into the box of a reading, and what was chosen beside it."""

    text: str = ""
    unit: str = ""
    basis: str = ""
    source: str = ""

    @classmethod
    def of_record(cls, record: Mapping[str, Any]) -> Reading:
        """Return a stored reading as it was typed, its unit in the box of units."""
        unit = str(record["unit"])
        text = str(record["typed"]).strip().removesuffix(unit).strip()
        return cls(text, unit, str(record["basis"]), str(record.get("source", "")))


class ReadingInput(forms.TextInput):
    """A number with what belongs to it; a unit typed after the number wins over the chosen one."""

    #: The field component draws the unit inside the frame of the number.
    has_unit = True

    def __init__(self, spec: FieldSpec, unit: str) -> None:
        super().__init__({"inputmode": "decimal", "autocomplete": "off"})
        self.spec = spec
        self.unit = unit

    def value_from_datadict(self, data: Mapping[str, Any], files: Any, name: str) -> Reading:
        """Return everything that was typed and chosen, as it came."""
        parts = (str(data.get(key) or "") for key in (name, *companions(name)))
        return Reading(*parts)

    def format_value(self, value: Any) -> str | None:
        """Return the text of the number's box."""
        return value.text if isinstance(value, Reading) else super().format_value(value)

    def render(
        self, name: str, value: Any, attrs: dict[str, Any] | None = None, renderer: Any = None
    ) -> SafeString:
        """Return the box of the number, its unit, and the choices of a pressure."""
        typed = value if isinstance(value, Reading) else Reading()
        unit = typed.unit or self.unit
        names = dict(zip(("unit", "basis", "source"), companions(name), strict=True))
        shown = {
            "input": super().render(name, value, attrs, renderer),
            "names": names,
            "units": _units(self.spec, unit),
            "unit": unit,
            "bases": BASES if self.spec.quantity is Kind.PRESSURE and not self.spec.is_air else (),
            "basis": typed.basis,
            "sources": Source.choices if self.spec.sources else (),
            "source": typed.source,
        }
        return render_to_string("jobs/widgets/reading.html", shown)


def companions(name: str) -> tuple[str, str, str]:
    """Return the names of what comes with a reading: its unit, its kind, what showed it."""
    return f"{name}_unit", f"{name}_basis", f"{name}_source"


def _units(spec: FieldSpec, chosen: str) -> Sequence[str]:
    kind = spec.quantity
    if kind is None:
        return (chosen,)
    offered = CUSTOMARY.get(kind) or units_of(kind)
    return offered if chosen in offered else (chosen, *offered)
