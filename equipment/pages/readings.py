"""What a purge asks for, in the trade's words and the units of the workshop."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.purging import PurgeMethod
from shopcool.core.unit_choices import PressureUnit
from shopcool.engineering.quantities import Kind, format_quantity
from shopcool.shop.models import Shop
from shopcool.shop.selectors import atmosphere_pa

#: The positions that make a loop of the lines, to be ticked at the machine (common practice).
POSITIONS = [
    ("OFF_VEHICLE", gettext_lazy("Both service couplers are off the vehicle.")),
    (
        "JOINED",
        gettext_lazy("Low and high line are joined by the coupler, with every chosen piece in between."),
    ),
    ("COUPLERS_OPEN", gettext_lazy("The valves of both service couplers stand open toward the loop.")),
    ("PIECES_OPEN", gettext_lazy("Every valve of the pieces stands open, so that nothing is passed by.")),
    ("BOTTLE", gettext_lazy("The recovered-oil bottle is empty, or its level is noted.")),
]


def vacuum_unit(shop: Shop) -> str:
    """Return the unit in which a machine of this workshop shows its vacuum."""
    return "inHg" if shop.pressure_unit == PressureUnit.PSI else "mbar"


def mass_words(mass_kg: float, shop: Shop) -> str:
    """Return a mass [kg] in the unit of the workshop."""
    return format_quantity(mass_kg, Kind.MASS, str(shop.mass_unit))


def duration_words(duration_s: float) -> str:
    """Return a duration [s] in minutes."""
    whole = duration_s % 60 == 0
    return format_quantity(duration_s, Kind.DURATION, "min", digits=0 if whole else 1)


def vacuum_words(pressure_pa: float, shop: Shop) -> str:
    """Return a vacuum [Pa absolute] as a machine of this workshop shows it."""
    unit = vacuum_unit(shop)
    basis = "vacuum" if unit == "inHg" else "absolute"
    digits = 0 if unit == "mbar" and pressure_pa >= 1000 else 1
    air = atmosphere_pa(shop)
    return format_quantity(pressure_pa, Kind.PRESSURE, unit, basis=basis, atmosphere_pa=air, digits=digits)


def limit_words(method: PurgeMethod, shop: Shop) -> tuple[str, str, str]:
    """Return what mass, duration and vacuum must reach for a purge to count."""
    return (
        _("at least %(limit)s") % {"limit": mass_words(method.minimum_circulated_kg, shop)},
        _("at least %(limit)s") % {"limit": duration_words(method.minimum_duration_s)},
        _("%(limit)s or better") % {"limit": vacuum_words(method.maximum_final_vacuum_pa, shop)},
    )
