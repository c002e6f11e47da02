"""Fields for the charge of a label: one for forms, one for serializers, one reading of the text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from shopcool.core.quantities import LONGEST_STORED
from shopcool.engineering.errors import Refusal
from shopcool.vehicles.label import LabelCharge, parse_label_charge


class LabelChargeField(forms.CharField):
    """The charge as the label prints it; cleans to a LabelCharge, or None when nothing was typed."""

    def __init__(self, *, default_unit: str = "g", **options: Any) -> None:
        super().__init__(**options)
        self.default_unit = default_unit

    def clean(self, value: Any) -> LabelCharge | None:
        """Return the charge, or raise the refusal beside the field."""
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse_label_charge(text, default_unit=self.default_unit)
        except Refusal as refusal:
            raise ValidationError(refusal.message, code=refusal.code) from refusal


@extend_schema_field(
    {
        "oneOf": [
            {"type": "string", "maxLength": LONGEST_STORED, "example": "465–515 g {16.5–18.1 oz}"},
            {"type": "number", "description": "in kg"},
        ]
    }
)
class LabelChargeSerializerField(serializers.Field[LabelCharge, Any, dict[str, object], Any]):
    """The charge as the label prints it: ``"465–515 g"``, ``"0,55 kg ± 20 g"``, or a number in kg."""

    def to_internal_value(self, data: Any) -> LabelCharge:
        """Return the charge, or raise the refusal under the field's name."""
        if isinstance(data, bool | Mapping) or not isinstance(data, str | int | float):
            raise serializers.ValidationError(
                _("The charge is missing or not a number."), code="not_a_number"
            )
        text = data if isinstance(data, str) else repr(data)
        try:
            return parse_label_charge(text, default_unit="kg")
        except Refusal as refusal:
            raise serializers.ValidationError(refusal.message, code=refusal.code) from refusal

    def to_representation(self, value: LabelCharge) -> dict[str, object]:
        """Return what was typed beside its meaning in kg."""
        return {"typed": value.typed, "charge_kg": value.charge_kg, "tolerance_kg": value.tolerance_kg}
