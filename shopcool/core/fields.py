"""Fields for quantities: one for the forms of the pages, one for the serializers of the API."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from django import forms
from django.core.exceptions import ValidationError
from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from shopcool.core.quantities import QuantityRule
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import Kind, Quantity, parse, units_of


class Typed(NamedTuple):
    """What a person typed into a quantity field, and the unit chosen beside it."""

    text: str
    unit: str


class QuantityInput(forms.TextInput):
    """A number with the choice of its unit beside it; a unit typed after the number wins."""

    #: The field component draws the unit inside the frame of the number.
    has_unit = True

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__({"inputmode": "decimal", "autocomplete": "off", **(attrs or {})})
        self.units: tuple[str, ...] = ()
        self.default_unit = ""

    def value_from_datadict(self, data: Mapping[str, Any], files: Any, name: str) -> Typed | None:
        """Return the typed text with the chosen unit, None when the field was not sent."""
        text = data.get(name)
        return None if text is None else Typed(str(text), str(data.get(f"{name}_unit") or ""))

    def format_value(self, value: Any) -> str | None:
        """Return the text to show in the number's box."""
        return value.text if isinstance(value, Typed) else super().format_value(value)

    def render(
        self, name: str, value: Any, attrs: dict[str, Any] | None = None, renderer: Any = None
    ) -> SafeString:
        """Return the box of the number and the choice of units."""
        chosen = value.unit if isinstance(value, Typed) else ""
        shown = {
            "input": super().render(name, value, attrs, renderer),
            "name": f"{name}_unit",
            "units": self.units,
            "chosen": chosen or self.default_unit,
        }
        return render_to_string("components/_quantity_input.html", shown)


class QuantityField(forms.Field):
    """A reading with its unit; cleans to a Quantity, or None when nothing was typed.

    ``units`` limits the choice beside the number; every unit of the kind may still be typed.
    """

    widget = QuantityInput

    def __init__(
        self,
        *,
        kind: Kind,
        default_unit: str,
        default_basis: str = "gauge",
        minimum: float | None = None,
        maximum: float | None = None,
        units: tuple[str, ...] = (),
        **options: Any,
    ) -> None:
        super().__init__(**options)
        self.units = units or units_of(kind)
        self.use_rule(QuantityRule(kind, default_unit, default_basis, minimum, maximum))

    def use_rule(self, rule: QuantityRule) -> None:
        """Expect something else from now on, for example the unit or the air pressure of the shop."""
        self.rule = rule
        if isinstance(self.widget, QuantityInput):
            self.widget.units = self.units
            self.widget.default_unit = rule.default_unit

    def prepare_value(self, value: Any) -> Any:
        """Return a stored reading as it was typed, its unit in the box of units."""
        if not isinstance(value, Quantity):
            return value
        typed = value.typed.strip()
        return Typed(typed.removesuffix(value.unit).strip(), value.unit)

    def to_python(self, value: Any) -> Quantity | None:
        """Return the reading, or raise the refusal of the parser beside the field."""
        if value is None or isinstance(value, Quantity):
            return value
        typed = value if isinstance(value, Typed) else Typed(str(value), "")
        if not typed.text.strip():
            return None
        try:
            return self.rule.read(typed.text, unit=typed.unit)
        except Refusal as refusal:
            raise ValidationError(refusal.message, code=refusal.code) from refusal


QUANTITY_SCHEMA = {
    "oneOf": [
        {"type": "string", "example": "0,55 kg"},
        {"type": "number", "description": "in the unit that the field states"},
        {
            "type": "object",
            "properties": {
                "value": {"oneOf": [{"type": "string"}, {"type": "number"}]},
                "unit": {"type": "string"},
                "basis": {"type": "string", "enum": ["gauge", "absolute", "vacuum"]},
            },
            "required": ["value"],
        },
    ]
}


@extend_schema_field(QUANTITY_SCHEMA)
class QuantitySerializerField(serializers.Field[Quantity, Any, dict[str, object], Any]):
    """A reading with its unit: ``"0,55 kg"``, ``{"value": "0,55", "unit": "kg"}`` or a bare number.

    A bare number is in the unit that the field states; the answer carries what was typed beside SI.
    """

    def __init__(
        self,
        *,
        kind: Kind,
        default_unit: str,
        default_basis: str = "gauge",
        minimum: float | None = None,
        maximum: float | None = None,
        **options: Any,
    ) -> None:
        super().__init__(**options)
        self.rule = QuantityRule(kind, default_unit, default_basis, minimum, maximum)

    def to_internal_value(self, data: Any) -> Quantity:
        """Return the reading, or raise the refusal of the parser under the field's name."""
        try:
            return self._read(data)
        except Refusal as refusal:
            raise serializers.ValidationError(refusal.message, code=refusal.code) from refusal

    def to_representation(self, value: Quantity) -> dict[str, object]:
        """Return what was typed beside its meaning in SI."""
        return value.as_record()

    def _read(self, data: Any) -> Quantity:
        if not isinstance(data, Mapping):
            return self.rule.read(_text(data))
        unknown = set(data) - {"value", "unit", "basis"}
        if unknown or "value" not in data:
            raise Refusal("unknown_record", _("A reading has a value and perhaps a unit and a basis."))
        unit, basis = str(data.get("unit") or ""), str(data.get("basis") or "")
        reading = self.rule.read(_text(data["value"]), unit=unit, basis=basis)
        if (
            unit
            and reading.unit != parse("1", reading.kind, default_unit=unit, default_basis=reading.basis).unit
        ):
            raise Refusal("unit_twice", _("The value and its unit name different units."))
        return reading


def _text(value: Any) -> str:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise Refusal("not_a_number", _("The value is missing or not a number."))
    return value if isinstance(value, str) else repr(value)
