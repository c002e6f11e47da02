"""The form of the workshop's settings."""

from __future__ import annotations

from functools import cache
from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.utils.translation import gettext_lazy as _

from shopcool.core.fields import QuantityField
from shopcool.core.quantities import exact_quantity
from shopcool.core.unit_choices import MassUnit, PressureUnit, TemperatureUnit, VolumeUnit
from shopcool.engineering.quantities import Kind, Quantity
from shopcool.people.models import User
from shopcool.people.selectors import colleagues_active
from shopcool.shop.models import Jurisdiction, Shop
from shopcool.shop.policy_fields import PoliciesForm, policies_entered, policies_initial
from shopcool.shop.services import (
    HIGHEST_ALTITUDE_M,
    HIGHEST_BAROMETER_PA,
    LONGEST_SERVICE_MONTHS,
    LONGEST_WAIT_MINUTES,
    LOWEST_ALTITUDE_M,
    LOWEST_BAROMETER_PA,
    SMALLEST_PURITY,
    Settings,
)


@cache
def _zones() -> list[tuple[str, str]]:
    """Return the named zones of the world, without the old abbreviations."""
    named = sorted(zone for zone in available_timezones() if "/" in zone and not zone.startswith("Etc/"))
    return [(zone, zone.replace("_", " ")) for zone in ["UTC", *named]]


def _whole_number(longest: int, **options: Any) -> forms.IntegerField:
    keypad = forms.TextInput(attrs={"inputmode": "numeric"})
    return forms.IntegerField(min_value=0, max_value=longest, widget=keypad, **options)


def _fraction(minimum: float, maximum: float, **options: Any) -> QuantityField:
    return QuantityField(
        kind=Kind.FRACTION, default_unit="%", units=("%",), minimum=minimum, maximum=maximum, **options
    )


class DaysField(forms.CharField):
    """Several numbers of days, typed with commas or blanks between them."""

    def to_python(self, value: Any) -> Any:
        """Return the numbers; anything else is refused in a sentence."""
        parts = str(value or "").replace(",", " ").replace(";", " ").split()
        if not all(part.isascii() and part.isdecimal() and len(part) <= 4 for part in parts):
            raise forms.ValidationError(_("Whole numbers of days with commas between, for example 30, 7."))
        return tuple(int(part) for part in parts)

    def prepare_value(self, value: Any) -> Any:
        """Return stored numbers as they are typed."""
        return ", ".join(str(day) for day in value) if isinstance(value, list | tuple) else value


class ShopForm(PoliciesForm):
    """Everything the workshop decides about itself."""

    name = forms.CharField(label=_("Name of the workshop"), max_length=120)
    address = forms.CharField(
        label=_("Address"), required=False, max_length=500, widget=forms.Textarea(attrs={"rows": 3})
    )
    time_zone = forms.ChoiceField(label=_("Time zone"), choices=_zones)
    jurisdiction = forms.ChoiceField(
        label=_("Whose rules apply"),
        choices=Jurisdiction.choices,
        widget=forms.RadioSelect,
        help_text=_("Reports name them; local rules and licensed practice always come first."),
    )
    altitude = QuantityField(
        label=_("Altitude"),
        kind=Kind.LENGTH,
        default_unit="m",
        units=("m", "ft"),
        minimum=LOWEST_ALTITUDE_M,
        maximum=HIGHEST_ALTITUDE_M,
        help_text=_("Above sea level. It gives the air pressure when there is no barometer."),
    )
    barometer = QuantityField(
        label=_("Barometer"),
        required=False,
        kind=Kind.PRESSURE,
        default_unit="hPa",
        default_basis="absolute",
        units=("hPa", "mbar", "kPa", "inHg", "Torr"),
        minimum=LOWEST_BAROMETER_PA,
        maximum=HIGHEST_BAROMETER_PA,
        help_text=_("What an instrument in the workshop shows. Weather reports are reduced to sea level."),
    )
    pressure_unit = forms.ChoiceField(
        label=_("Pressure"), choices=PressureUnit.choices, widget=forms.RadioSelect
    )
    temperature_unit = forms.ChoiceField(
        label=_("Temperature"), choices=TemperatureUnit.choices, widget=forms.RadioSelect
    )
    mass_unit = forms.ChoiceField(label=_("Refrigerant"), choices=MassUnit.choices, widget=forms.RadioSelect)
    volume_unit = forms.ChoiceField(label=_("Oil"), choices=VolumeUnit.choices, widget=forms.RadioSelect)
    high_voltage_wait_minutes = _whole_number(
        LONGEST_WAIT_MINUTES,
        label=_("Wait after high voltage is shut down"),
        help_text=_("Holds where the vehicle maker's own wait is not known. The maker's always comes first."),
    )
    glove_check_required = forms.BooleanField(
        label=_("Gloves for high-voltage work must have a test in date"), required=False
    )
    minimum_purity = _fraction(
        SMALLEST_PURITY,
        1.0,
        label=_("Least purity"),
        help_text=_(
            "Of the expected refrigerant, by weight, air left out. Below it the gas is contaminated."
        ),
    )
    maximum_hydrocarbon = _fraction(
        0.0,
        1.0 - SMALLEST_PURITY,
        label=_("Hydrocarbon alarm"),
        help_text=_("From this share on the gas counts as flammable, whatever its purity."),
    )
    maximum_air = _fraction(
        0.0,
        1.0 - SMALLEST_PURITY,
        label=_("Air alert"),
        help_text=_("From this share on air is to be purged; the gas is not contaminated by it."),
    )
    next_service_months = _whole_number(
        LONGEST_SERVICE_MONTHS,
        label=_("Usual time to the next service"),
        help_text=_("Offered at close-out; the technician may choose another day."),
    )
    reminder_days = DaysField(
        label=_("Remind this many days ahead"),
        required=False,
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text=_("The due day and the day after remind in any case."),
    )
    reminders_at = forms.TimeField(
        label=_("Not before"),
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        help_text=_("Time at the workshop, once a day."),
    )
    equipment_keeper = forms.ModelChoiceField(
        label=_("Who looks after the equipment"),
        queryset=User.objects.none(),
        required=False,
        empty_label=_("every owner"),
        help_text=_("Is reminded first; the owners are told when something is overdue."),
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["equipment_keeper"].queryset = colleagues_active()  # type: ignore[attr-defined]

    def settings(self) -> Settings:
        """Return what was entered."""
        entered = dict(self.cleaned_data)
        barometer: Quantity | None = entered.pop("barometer")
        keeper: User | None = entered.pop("equipment_keeper")
        fractions = ("minimum_purity", "maximum_hydrocarbon", "maximum_air")
        return Settings(
            altitude_m=entered.pop("altitude").si,
            barometer_pa=barometer.si if barometer else None,
            equipment_keeper_id=keeper.pk if keeper else None,
            **{name: entered.pop(name).si for name in fractions},
            **policies_entered(entered),
            **entered,
        )


def shop_initial(shop: Shop) -> dict[str, object]:
    """Return the settings as the form shows them."""
    own = set(ShopForm.base_fields) - {"equipment_keeper"}
    plain = {name: getattr(shop, name) for name in own if hasattr(shop, name)}
    fractions = ("minimum_purity", "maximum_hydrocarbon", "maximum_air")
    barometer = exact_quantity(shop.barometer_pa, Kind.PRESSURE, "hPa") if shop.barometer_pa else None
    return {
        **plain,
        **{name: exact_quantity(getattr(shop, name), Kind.FRACTION, "%") for name in fractions},
        **policies_initial(shop),
        "altitude": exact_quantity(shop.altitude_m, Kind.LENGTH, "m"),
        "barometer": barometer,
        "equipment_keeper": shop.equipment_keeper_id,
    }
