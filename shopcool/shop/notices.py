"""What is odd about the workshop's place: pure rules, they warn and never refuse."""

from __future__ import annotations

from django.utils.translation import gettext as _

from shopcool.engineering.quantities import Kind, atmosphere_from_altitude_pa, format_quantity
from shopcool.engineering.results import Notice
from shopcool.shop.models import Shop

#: Weather moves the air pressure by 3 % around its standard value, a storm by 5 % (common practice).
WEATHER = 0.05


def place_notices(shop: Shop) -> list[Notice]:
    """Return a warning when barometer and altitude contradict each other more than weather can."""
    if shop.barometer_pa is None:
        return []
    standard_pa = atmosphere_from_altitude_pa(shop.altitude_m)
    if abs(shop.barometer_pa - standard_pa) <= WEATHER * standard_pa:
        return []
    sentence = _(
        "At %(altitude)s the air usually has %(standard)s, the barometer says %(barometer)s. "
        "Check the altitude and whether the value is reduced to sea level, as in weather reports. "
        "The barometer holds."
    )
    shown = {
        "altitude": format_quantity(shop.altitude_m, Kind.LENGTH, "m", digits=0),
        "standard": _hpa(standard_pa),
        "barometer": _hpa(shop.barometer_pa),
    }
    return [Notice("place", sentence % shown)]


def _hpa(pressure_pa: float) -> str:
    return format_quantity(pressure_pa, Kind.PRESSURE, "hPa", basis="absolute", digits=0)
