"""Forms about oil: types and shapes only, the rules are in the services."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from equipment.choices import PieceKind
from equipment.forms.fields import LABEL_LUBRICANTS, DayField, EarlierField, WordsField
from equipment.forms.pieces import PieceForm
from equipment.oil.grades import LARGEST_CONTAINER_M3, LARGEST_DENSITY, SMALLEST_DENSITY
from equipment.oil.lots import LotDescription
from equipment.oil.selectors import LotNow
from equipment.oil.vials import VialReadings
from equipment.oil.words import amount_words
from equipment.selectors import today_at
from shopcool.core.fields import QuantityField
from shopcool.core.quantities import exact_quantity
from shopcool.engineering.quantities import Kind
from shopcool.shop.models import Shop
from shopcool.shop.units import Units

VOLUMES = ("ml", "l", "US fl oz", "imp fl oz")
_CAPITALS = {"autocapitalize": "characters", "spellcheck": "false", "autocomplete": "off"}


def volume_field(**options: Any) -> QuantityField:
    """Return a field for an amount of oil."""
    return QuantityField(
        kind=Kind.VOLUME,
        default_unit="ml",
        units=VOLUMES,
        minimum=0.0,
        maximum=LARGEST_CONTAINER_M3,
        **options,
    )


class OilForm(forms.Form):
    """A form that is sent once and asks for volumes in the reader's unit."""

    submission_key = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.initial.setdefault("submission_key", str(uuid4()))

    def ask_in(self, units: Units) -> None:
        """Expect bare volumes in the reader's unit; other kinds keep the unit of their labels."""
        for field in self.fields.values():
            if isinstance(field, QuantityField) and field.rule.kind is Kind.VOLUME:
                field.use_rule(field.rule.in_unit(units.volume))


class LotForm(OilForm):
    """A container as it came."""

    code = forms.CharField(
        label=_("Code"),
        max_length=20,
        help_text=_("Short, as you write it on the container: L-4."),
        widget=forms.TextInput(attrs=_CAPITALS),
    )
    lubricant = forms.ChoiceField(label=_("Oil class"), choices=LABEL_LUBRICANTS, widget=forms.RadioSelect)
    grade = forms.CharField(label=_("Grade"), max_length=60, help_text=_("Exactly as printed."))
    supplier = forms.CharField(label=_("Supplier"), max_length=120)
    batch = forms.CharField(
        label=_("Batch number"), max_length=80, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    container = volume_field(label=_("Size of the container"))
    density = QuantityField(
        label=_("Density"),
        kind=Kind.DENSITY,
        default_unit="g/ml",
        units=("g/ml", "kg/m³"),
        minimum=SMALLEST_DENSITY,
        maximum=LARGEST_DENSITY,
        help_text=_("From the data sheet of this oil; it makes grams of millilitres."),
    )
    density_source = forms.CharField(
        label=_("Where the density stands"),
        max_length=160,
        help_text=_("Data sheet, its date, at 15 or 20 °C."),
    )
    received_on = DayField(label=_("Received on"))
    low = volume_field(
        label=_("Order again below"),
        required=False,
        help_text=_("Of all containers of this class and grade together. Empty: nobody is reminded."),
    )

    def clean_code(self) -> str:
        """Return the code in capitals, so that two people write it alike."""
        return str(self.cleaned_data["code"]).strip().upper()

    def description(self) -> LotDescription:
        """Return what was filled in, for the service."""
        values = {name: value for name, value in self.cleaned_data.items() if name != "submission_key"}
        return LotDescription(**values)


def lot_initial(shop: Shop, now: datetime) -> dict[str, object]:
    """Return what the form of a new lot offers: it came today, with the workshop's own level."""
    low = shop.oil_low_m3
    return {
        "received_on": today_at(shop, now),
        "low": None if low is None else exact_quantity(low, Kind.VOLUME, "ml"),
    }


class FillForm(OilForm):
    """Which lot goes into an injector, and how much."""

    lot = forms.ChoiceField(label=_("From which lot"), widget=forms.RadioSelect)
    amount = volume_field(label=_("Amount"))

    def __init__(self, *arguments: Any, lots: Sequence[LotNow], units: Units, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.fields["lot"].choices = [  # type: ignore[attr-defined]
            (one.lot.code, _lot_words(one, units)) for one in lots
        ]
        if len(lots) == 1:
            self.fields["lot"].initial = lots[0].lot.code


def _lot_words(one: LotNow, units: Units) -> str:
    held = amount_words(one.volume_m3, units=units)
    return _("%(code)s, batch %(batch)s: %(held)s left") % {
        "code": one.lot.code,
        "batch": one.lot.batch,
        "held": held,
    }


class OpenForm(forms.Form):
    """When a container was first opened."""

    occurred_at = EarlierField(label=_("When it was opened"))


class MeasureForm(OilForm):
    """What was found inside: a volume, or a mass without the container."""

    amount = volume_field(label=_("What is left, measured"), required=False)
    weighed = QuantityField(
        label=_("Or weighed, without the container"),
        kind=Kind.MASS,
        default_unit="g",
        units=("g", "kg", "oz"),
        minimum=0.0,
        maximum=LARGEST_CONTAINER_M3 * LARGEST_DENSITY,
        required=False,
        help_text=_("Its density makes millilitres of it."),
    )
    note = WordsField(label=_("Note"), required=False, max_length=300)

    def clean(self) -> dict[str, Any]:
        """Ask for exactly one of the two."""
        cleaned: dict[str, Any] = self.cleaned_data
        given = [name for name in ("amount", "weighed") if cleaned.get(name) is not None]
        if not self.errors and len(given) != 1:
            self.add_error("amount", _("Enter what was measured or what was weighed, one of them."))
        return cleaned


class WasteForm(OilForm):
    """How much goes into the waste oil, and why."""

    amount = volume_field(
        label=_("Amount"), required=False, help_text=_("Leave empty to take out everything that is left.")
    )
    note = WordsField(label=_("Why is it waste?"), max_length=300)


def _resistance(**options: Any) -> QuantityField:
    return QuantityField(
        kind=Kind.RESISTANCE,
        default_unit="MΩ",
        units=("kΩ", "MΩ", "GΩ"),
        minimum=0.0,
        maximum=1e15,
        **options,
    )


def _voltage(**options: Any) -> QuantityField:
    return QuantityField(
        kind=Kind.VOLTAGE, default_unit="V", units=("V",), minimum=1.0, maximum=5000.0, **options
    )


class VialForm(OilForm):
    """A vial of the lot under an insulation tester."""

    resistance = _resistance(
        label=_("Insulation resistance"), help_text=_("As the tester shows it: “12.5”, “> 2.2 GΩ”.")
    )
    mixed = forms.ChoiceField(
        label=_("Was the oil well mixed?"),
        choices=[("yes", _("Yes")), ("no", _("No"))],
        widget=forms.RadioSelect,
        help_text=_("Water settles out of oil: stir or shake it."),
    )
    nominal_voltage = _voltage(label=_("Tester set to"))
    actual_voltage = _voltage(label=_("Voltage under the reading"), required=False)
    unmixed = _resistance(label=_("Reading before mixing"), required=False)
    other_lot = _resistance(
        label=_("Reading of another new lot of the same oil"),
        required=False,
        help_text=_("Same tester, same vial, same electrodes."),
    )
    occurred_at = EarlierField(label=_("When"))
    note = WordsField(label=_("Note"), required=False, max_length=300)

    def readings(self) -> VialReadings:
        """Return what was read, for the service."""
        values = dict(self.cleaned_data)
        del values["occurred_at"], values["note"], values["submission_key"]
        return VialReadings(**{**values, "mixed": values["mixed"] == "yes"})


class LevelForm(OilForm):
    """At which level the next container is ordered."""

    low = volume_field(
        label=_("Order again below"),
        required=False,
        help_text=_("Of all containers of this class and grade together. Empty: nobody is reminded."),
    )


class BadForm(forms.Form):
    """What is wrong with a lot."""

    note = WordsField(
        label=_("What is wrong with it, and how do you know?"),
        max_length=300,
        help_text=_("It stands in every incident that follows from it. This can't be taken back."),
    )


class ReplaceForm(PieceForm):
    """The new injector with its own label, and why the old one goes."""

    reason = WordsField(label=_("Why does the old one go?"), max_length=300)

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, kind=PieceKind.INJECTOR, **options)
