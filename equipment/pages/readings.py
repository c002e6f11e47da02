"""What a purge asks for, in the trade's words and the reader's units."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.purging import PurgeMethod
from shopcool.core.figures import Figure
from shopcool.engineering.quantities import Kind, format_quantity
from shopcool.shop.units import Units

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


def duration_words(duration_s: float) -> str:
    """Return a duration [s] in minutes."""
    whole = duration_s % 60 == 0
    return format_quantity(duration_s, Kind.DURATION, "min", digits=0 if whole else 1)


def finding_words(finding: dict[str, Any], units: Units) -> str:
    """Return why a purge does not count, its limit in the reader's units as well."""
    figures = [Figure.from_record(one) for one in finding.get("figures", ())]
    return units.retold(finding["sentence"], figures)


def vacuum_words(pressure_pa: float, units: Units) -> str:
    """Return a vacuum [Pa absolute] as the reader's machine shows it."""
    unit = units.vacuum
    basis = "vacuum" if unit == "inHg" else "absolute"
    digits = 0 if unit == "mbar" and pressure_pa >= 1000 else 1
    air = units.atmosphere_pa
    return format_quantity(pressure_pa, Kind.PRESSURE, unit, basis=basis, atmosphere_pa=air, digits=digits)


def limit_words(method: PurgeMethod, units: Units) -> tuple[str, str, str]:
    """Return what mass, duration and vacuum must reach for a purge to count."""
    return (
        _("at least %(limit)s") % {"limit": units.shown(method.minimum_circulated_kg, Kind.MASS)},
        _("at least %(limit)s") % {"limit": duration_words(method.minimum_duration_s)},
        _("%(limit)s or better") % {"limit": vacuum_words(method.maximum_final_vacuum_pa, units)},
    )
