"""The units the workshop prefers, for fields and for pages."""

from __future__ import annotations

from dataclasses import replace

from django import forms

from shopcool.core.fields import QuantityField
from shopcool.engineering.quantities import Kind, format_quantity, units_of
from shopcool.shop.models import Shop
from shopcool.shop.selectors import atmosphere_pa


def preferred_unit(shop: Shop, kind: Kind) -> str:
    """Return the unit a kind of quantity is shown and asked in."""
    chosen = {
        Kind.PRESSURE: shop.pressure_unit,
        Kind.TEMPERATURE: shop.temperature_unit,
        Kind.MASS: shop.mass_unit,
        Kind.VOLUME: shop.volume_unit,
    }
    return chosen.get(kind, units_of(kind)[0])


def shown(si: float | None, kind: Kind, shop: Shop, *, basis: str = "gauge") -> str | None:
    """Return an SI value in the unit the workshop prefers, None for an unknown one."""
    if si is None:
        return None
    unit = preferred_unit(shop, kind)
    return format_quantity(si, kind, unit, basis=basis, atmosphere_pa=atmosphere_pa(shop))


def ask_in_shop_units(form: forms.BaseForm, shop: Shop) -> None:
    """Let every quantity field of a form expect bare numbers in the unit the workshop prefers."""
    for field in form.fields.values():
        if isinstance(field, QuantityField):
            unit = preferred_unit(shop, field.rule.kind)
            field.use_rule(replace(field.rule, default_unit=unit, atmosphere_pa=atmosphere_pa(shop)))
