"""Forms of the pages about vehicles: types and shapes; the rules are in the services."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from shopcool.core.fields import QuantityField
from shopcool.core.quantities import exact_quantity, stored_quantity, stored_text
from shopcool.engineering.quantities import Kind, Quantity
from shopcool.shop.units import Units, ask_in
from shopcool.vehicles.choices import Drive, Lubricant, Metering, Refrigerant
from shopcool.vehicles.data import (
    COLDEST_SEARCH_K,
    FIRST_MODEL_YEAR,
    HIGHEST_SEARCH_PA,
    LARGEST_OIL_M3,
    LARGEST_VOLTAGE_V,
    LONGEST_WAIT_MINUTES,
    LOWEST_SEARCH_PA,
    SMALLEST_OIL_M3,
    SMALLEST_VOLTAGE_V,
    WARMEST_SEARCH_K,
    CircuitData,
    CustomerData,
    VehicleData,
)
from shopcool.vehicles.fields import LabelChargeField
from shopcool.vehicles.models import Circuit, Vehicle

_CAPITALS = {"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"}


def oil_rule_field() -> forms.CharField:
    """Return a field for the vehicle maker's rule of the oil, as every form asks for it."""
    return forms.CharField(
        label=_("Oil rule of the vehicle maker"),
        required=False,
        max_length=10_000,
        help_text=_(
            "One statement a line, in ml: “source workshop manual, page 12”, “new compressor holds 120”, "
            "“stays in old compressor 20”, “part condenser 30”, “sudden loss 90”, “circuit holds 270”."
        ),
        widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false"}),
    )


class VehicleForm(forms.Form):
    """A vehicle and who brings it."""

    registration = forms.CharField(
        label=_("Registration"), max_length=20, widget=forms.TextInput(attrs=_CAPITALS)
    )
    make = forms.CharField(label=_("Make"), max_length=60)
    model = forms.CharField(label=_("Model"), max_length=60)
    model_year = forms.IntegerField(
        label=_("Model year"),
        required=False,
        min_value=FIRST_MODEL_YEAR,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    vin = forms.CharField(
        label=_("VIN"),
        required=False,
        max_length=40,
        help_text=_("Vehicle identification number: 17 characters, never I, O or Q."),
        widget=forms.TextInput(attrs=_CAPITALS),
    )
    vin_reason = forms.CharField(
        label=_("Why the number is shorter"),
        required=False,
        max_length=200,
        help_text=_("Only for a vehicle built before 1981."),
    )
    customer_name = forms.CharField(label=_("Customer"), required=False, max_length=160)
    customer_phone = forms.CharField(
        label=_("Phone"), required=False, max_length=60, widget=forms.TextInput(attrs={"type": "tel"})
    )
    customer_email = forms.EmailField(label=_("E-mail"), required=False)
    same_registration = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def vehicle_data(self) -> VehicleData:
        """Return what was entered about the vehicle."""
        entered = self.cleaned_data
        name = entered["customer_name"].strip()
        customer = CustomerData(name, entered["customer_phone"], entered["customer_email"]) if name else None
        columns = ("registration", "make", "model", "model_year", "vin", "vin_reason", "same_registration")
        return VehicleData(customer=customer, **{column: entered[column] for column in columns})

    def clean(self) -> dict[str, Any]:
        """Ask for the name that belongs to a phone or an e-mail."""
        entered = super().clean() or {}
        if (entered.get("customer_phone") or entered.get("customer_email")) and not entered.get(
            "customer_name", ""
        ).strip():
            self.add_error("customer_name", _("Whose phone or e-mail is it?"))
        return entered


class CircuitForm(forms.Form):
    """A circuit as its label says; what is left empty stays unknown."""

    drive = forms.ChoiceField(label=_("Compressor drive"), choices=Drive.choices, widget=forms.RadioSelect)
    refrigerant = forms.ChoiceField(
        label=_("Refrigerant"),
        choices=Refrigerant.choices,
        initial=Refrigerant.UNKNOWN,
        widget=forms.RadioSelect,
    )
    charge = LabelChargeField(
        label=_("Label charge, as printed"),
        required=False,
        max_length=60,
        help_text=_("550 g · 490 ± 25 g · 465–515 g · with its second unit: 465–515 g {16.4–18.2 oz}"),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    lubricant = forms.ChoiceField(
        label=_("Oil class"), choices=Lubricant.choices, initial=Lubricant.UNKNOWN, widget=forms.RadioSelect
    )
    lubricant_grade = forms.CharField(label=_("Oil grade"), required=False, max_length=60)
    oil = QuantityField(
        label=_("Oil in the circuit"),
        required=False,
        kind=Kind.VOLUME,
        default_unit="ml",
        units=("ml", "US fl oz", "imp fl oz"),
        minimum=SMALLEST_OIL_M3,
        maximum=LARGEST_OIL_M3,
    )
    working_voltage = QuantityField(
        label=_("Working voltage"),
        required=False,
        kind=Kind.VOLTAGE,
        default_unit="V",
        units=("V",),
        minimum=SMALLEST_VOLTAGE_V,
        maximum=LARGEST_VOLTAGE_V,
        help_text=_("Electric drives only."),
    )
    high_voltage_wait_minutes = forms.IntegerField(
        label=_("Wait after shut-down, by the vehicle maker"),
        required=False,
        min_value=0,
        max_value=LONGEST_WAIT_MINUTES,
        help_text=_("High voltage only. Empty: the shop's own wait holds."),
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    metering = forms.ChoiceField(
        label=_("Expansion device"), choices=Metering.choices, initial=Metering.UNKNOWN
    )
    label_source = forms.CharField(
        label=_("Where the data comes from"),
        required=False,
        max_length=120,
        help_text=_("Label under the bonnet, maker's workshop data, …"),
    )
    oil_rule = oil_rule_field()
    no_dye = forms.BooleanField(label=_("No dye in this circuit"), required=False)
    dedicated_hoses = forms.BooleanField(label=_("Only hoses that touch nothing but its oil"), required=False)
    search_pressure = QuantityField(
        label=_("Leak search: least pressure"),
        required=False,
        kind=Kind.PRESSURE,
        default_unit="bar",
        units=("bar", "kPa", "psi"),
        minimum=LOWEST_SEARCH_PA,
        maximum=HIGHEST_SEARCH_PA,
    )
    search_temperature = QuantityField(
        label=_("Leak search: least temperature"),
        required=False,
        kind=Kind.TEMPERATURE,
        default_unit="°C",
        units=("°C", "°F"),
        minimum=COLDEST_SEARCH_K,
        maximum=WARMEST_SEARCH_K,
    )
    maker_source = forms.CharField(label=_("Where the maker asks for this"), required=False, max_length=160)
    name = forms.CharField(
        label=_("Name of the circuit"),
        max_length=60,
        initial="A/C",
        help_text=_("Only matters when the vehicle has several."),
    )

    def ask_in(self, units: Units) -> None:
        """Expect bare numbers in the units of the person who fills it in."""
        ask_in(self, units)
        charge = self.fields["charge"]
        if isinstance(charge, LabelChargeField):
            charge.default_unit = units.mass

    def circuit_data(self) -> CircuitData:
        """Return what was entered about the circuit."""
        return CircuitData(**{name: self.cleaned_data[name] for name in CircuitForm.base_fields})


class NewVehicleForm(VehicleForm, CircuitForm):
    """A vehicle with its first circuit, in one go."""

    submission_key = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=uuid4)


def vehicle_initial(vehicle: Vehicle) -> dict[str, object]:
    """Return a vehicle as its form shows it."""
    columns = ("registration", "make", "model", "model_year", "vin", "vin_reason")
    customer = vehicle.customer
    return {
        **{column: getattr(vehicle, column) for column in columns},
        "customer_name": customer.name if customer else "",
        "customer_phone": customer.phone if customer else "",
        "customer_email": customer.email if customer else "",
    }


def circuit_initial(circuit: Circuit) -> dict[str, object]:
    """Return a circuit as its form shows it, quantities as they were typed."""
    columns = (
        "name", "drive", "refrigerant", "lubricant", "lubricant_grade", "metering",
        "high_voltage_wait_minutes", "label_source", "oil_rule",
        "no_dye", "dedicated_hoses", "maker_source",
    )  # fmt: skip
    volts = circuit.working_voltage_v
    return {
        **{column: getattr(circuit, column) for column in columns},
        "charge": _charge(circuit),
        "oil": _oil(circuit),
        "working_voltage": exact_quantity(volts, Kind.VOLTAGE, "V") if volts else None,
        "search_pressure": stored_quantity(circuit.search_pressure_typed, Kind.PRESSURE),
        "search_temperature": stored_quantity(circuit.search_temperature_typed, Kind.TEMPERATURE),
    }


def _charge(circuit: Circuit) -> str:
    if circuit.charge_typed or circuit.charge_kg is None:
        return circuit.charge_typed
    charge = stored_text(exact_quantity(circuit.charge_kg, Kind.MASS, "kg"))
    if circuit.tolerance_kg is None:
        return charge
    return f"{charge} ± {stored_text(exact_quantity(circuit.tolerance_kg, Kind.MASS, 'kg'))}"


def _oil(circuit: Circuit) -> Quantity | None:
    if circuit.oil_typed:
        return stored_quantity(circuit.oil_typed, Kind.VOLUME)
    if circuit.oil_m3 is None:
        return None
    return exact_quantity(circuit.oil_m3, Kind.VOLUME, "ml")
