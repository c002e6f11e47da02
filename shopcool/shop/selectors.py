"""Reads of the shop's settings."""

from __future__ import annotations

from django.http import HttpRequest

from shopcool.engineering.quantities import atmosphere_from_altitude_pa
from shopcool.shop.models import Shop


def shop_get() -> Shop:
    """Return the shop's settings, created with safe defaults on first use."""
    shop, _ = Shop.objects.get_or_create(pk=1, defaults={"name": "Workshop"})
    return shop


def shop_of(request: HttpRequest) -> Shop:
    """Return the settings that the middleware read for this request."""
    shop = getattr(request, "shop", None)
    return shop if isinstance(shop, Shop) else shop_get()


def atmosphere_pa(shop: Shop) -> float:
    """Return the air pressure at the workshop [Pa]: the barometer, else from the altitude."""
    if shop.barometer_pa is not None:
        return shop.barometer_pa
    return atmosphere_from_altitude_pa(shop.altitude_m)
