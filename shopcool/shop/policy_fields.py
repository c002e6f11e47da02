"""The fields of the policies that rules read: purge, carry-over, gloves, insulation, oil shelf."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopcool.core.fields import QuantityField
from shopcool.core.quantities import exact_quantity
from shopcool.engineering.quantities import Kind, Quantity
from shopcool.shop.limits import BOUNDS, LONGEST_OPEN_DAYS, OLDEST_GLOVE_TEST_MONTHS, SHORTEST_OPEN_DAYS
from shopcool.shop.models import Shop


def _bounded(column: str, kind: Kind, *units: str, **options: Any) -> QuantityField:
    lowest, highest = BOUNDS[column]
    return QuantityField(
        kind=kind, default_unit=units[0], units=units, minimum=lowest, maximum=highest, **options
    )


#: Column, kind and unit of each policy that is a quantity.
_QUANTITIES = {
    "purge_minimum_kg": (Kind.MASS, "g"),
    "purge_minimum_s": (Kind.DURATION, "min"),
    "purge_maximum_vacuum_pa": (Kind.PRESSURE, "mbar"),
    "insulation_like_k": (Kind.TEMPERATURE_DIFFERENCE, "K"),
    "carry_oil_kg": (Kind.MASS, "g"),
    "carry_volume_m3": (Kind.VOLUME, "ml"),
    "carry_mixing": (Kind.FRACTION, "%"),
    "oil_low_m3": (Kind.VOLUME, "ml"),
}


class PoliciesForm(forms.Form):
    """What a purge must show, what estimates and comparisons assume, and how long oil keeps."""

    purge_minimum_kg = _bounded(
        "purge_minimum_kg",
        Kind.MASS,
        "g",
        "kg",
        "oz",
        "lb",
        label=_("Refrigerant through the loop, at least"),
    )
    purge_minimum_s = _bounded(
        "purge_minimum_s", Kind.DURATION, "min", "s", label=_("Duration of the purge, at least")
    )
    purge_maximum_vacuum_pa = _bounded(
        "purge_maximum_vacuum_pa",
        Kind.PRESSURE,
        "mbar",
        "kPa",
        "Torr",
        "micron",
        default_basis="absolute",
        label=_("Final vacuum, at most"),
        help_text=_("Absolute pressure."),
    )
    purge_note = forms.CharField(
        label=_("Why these limits"),
        required=False,
        max_length=200,
        help_text=_("Stands on every purge from then on: procedure of the machine's maker, own trials, …"),
    )
    carry_oil_kg = _bounded("carry_oil_kg", Kind.MASS, "g", "oz", label=_("Oil left in a drained piece"))
    carry_volume_m3 = _bounded(
        "carry_volume_m3",
        Kind.VOLUME,
        "ml",
        "US fl oz",
        "imp fl oz",
        label=_("Volume of a piece that nobody measured"),
    )
    carry_mixing = _bounded(
        "carry_mixing",
        Kind.FRACTION,
        "%",
        label=_("Share of the oil film that a purge reaches, at worst"),
        help_text=_("At best it reaches all of it."),
    )
    glove_test_months = forms.IntegerField(
        label=_("Glove tests hold for"),
        min_value=1,
        max_value=OLDEST_GLOVE_TEST_MONTHS,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    insulation_like_k = _bounded(
        "insulation_like_k",
        Kind.TEMPERATURE_DIFFERENCE,
        "K",
        "°F",
        label=_("Insulation tests are compared within"),
        help_text=_("Temperature of the part on both visits."),
    )
    oil_open_days = forms.IntegerField(
        label=_("A container may stand open for"),
        min_value=SHORTEST_OPEN_DAYS,
        max_value=LONGEST_OPEN_DAYS,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        help_text=_("Oil that draws moisture; what its maker prints on the container comes first."),
    )
    oil_low_m3 = _bounded(
        "oil_low_m3",
        Kind.VOLUME,
        "ml",
        "l",
        "US fl oz",
        "imp fl oz",
        label=_("Order again below"),
        required=False,
        help_text=_("Offered for each new container, where it may be changed. Empty offers nothing."),
    )


def policies_entered(entered: dict[str, Any]) -> dict[str, Any]:
    """Take the policies out of what was entered and return them in SI."""
    quantities: dict[str, Quantity | None] = {name: entered.pop(name) for name in _QUANTITIES}
    plain = {name: entered.pop(name) for name in ("purge_note", "glove_test_months", "oil_open_days")}
    return {**plain, **{name: quantity.si if quantity else None for name, quantity in quantities.items()}}


def policies_initial(shop: Shop) -> dict[str, object]:
    """Return the quantities among the policies as the form shows them; one that is not set is left empty."""
    values = {name: getattr(shop, name) for name in _QUANTITIES}
    return {
        name: exact_quantity(values[name], kind, unit)
        for name, (kind, unit) in _QUANTITIES.items()
        if values[name] is not None
    }
