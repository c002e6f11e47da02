"""The form that describes a kind of car without one on file: what can take it now?"""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from equipment.forms.fields import LABEL_LUBRICANTS, LABEL_REFRIGERANTS
from equipment.readiness import CircuitFacts
from shopcool.core.fields import QuantityField
from shopcool.engineering.quantities import Kind
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from shopcool.vehicles.data import LARGEST_VOLTAGE_V, SMALLEST_VOLTAGE_V

#: More than this between the poles of a direct-current drive counts as high voltage (UN Regulation No. 100).
HIGH_VOLTAGE_ABOVE_V = 60.0


class KindOfCarForm(forms.Form):
    """Refrigerant, drive, oil and working voltage as they would stand on the label."""

    refrigerant = forms.ChoiceField(label=_("Refrigerant"), choices=LABEL_REFRIGERANTS, initial="R1234YF")
    drive = forms.ChoiceField(label=_("Compressor drive"), choices=Drive.choices, initial="ELECTRIC_HV")
    lubricant = forms.ChoiceField(label=_("Oil class"), choices=LABEL_LUBRICANTS, initial="POE")
    working_voltage = QuantityField(
        label=_("Working voltage"),
        required=False,
        kind=Kind.VOLTAGE,
        default_unit="V",
        units=("V",),
        minimum=SMALLEST_VOLTAGE_V,
        maximum=LARGEST_VOLTAGE_V,
    )

    def clean(self) -> dict[str, Any]:
        """Refuse a voltage that contradicts the drive: the answer would be for another car."""
        cleaned: dict[str, Any] = self.cleaned_data
        voltage, drive = cleaned.get("working_voltage"), cleaned.get("drive")
        if voltage is None or drive is None:
            return cleaned
        is_high = voltage.si > HIGH_VOLTAGE_ABOVE_V
        if drive == Drive.BELT:
            self.add_error("working_voltage", _("A compressor on a belt has no working voltage."))
        elif is_high != Drive(drive).is_high_voltage:
            self.add_error(
                "working_voltage",
                _("More than 60 V is a high-voltage drive, 60 V and less is not. Which of the two is meant?"),
            )
        return cleaned

    def circuit(self) -> CircuitFacts:
        """Return the circuit that such a car has, as the clearance rules see it."""
        values = self.cleaned_data
        return CircuitFacts(
            name="",
            refrigerant=Refrigerant(values["refrigerant"]),
            lubricant=Lubricant(values["lubricant"]),
            drive=Drive(values["drive"]),
        )

    def words(self) -> list[str]:
        """Return what was asked for, one word or two for each."""
        circuit, voltage = self.circuit(), self.cleaned_data["working_voltage"]
        words = [circuit.drive.label, circuit.refrigerant.label, circuit.lubricant.label]
        return [*map(str, words), *([f"{voltage.si:g} V"] if voltage else [])]
