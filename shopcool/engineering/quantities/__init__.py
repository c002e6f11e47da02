"""Quantities at the edge: what a person typed, what it means in SI, and how it is shown again.

A reading keeps its text, unit, basis and comparator beside the SI value, so that a record can always be
explained. Temperatures and temperature differences are two kinds, so are pressures and pressure differences:
mixing them is the commonest conversion error of the trade.
"""

from shopcool.engineering.quantities.atmosphere import (
    STANDARD_ATMOSPHERE_PA,
    atmosphere_from_altitude_pa,
    checked_atmosphere_pa,
)
from shopcool.engineering.quantities.conversion import from_unit, to_unit, usual_basis
from shopcool.engineering.quantities.display import format_quantity, format_reading
from shopcool.engineering.quantities.kinds import Kind, Quantity
from shopcool.engineering.quantities.reading import MAXIMUM_TYPED_CHARACTERS, parse
from shopcool.engineering.quantities.units import unit_named, units_of

__all__ = [
    "MAXIMUM_TYPED_CHARACTERS",
    "STANDARD_ATMOSPHERE_PA",
    "Kind",
    "Quantity",
    "atmosphere_from_altitude_pa",
    "checked_atmosphere_pa",
    "format_quantity",
    "format_reading",
    "from_unit",
    "parse",
    "to_unit",
    "unit_named",
    "units_of",
    "usual_basis",
]
