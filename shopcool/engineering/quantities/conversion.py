"""Conversion between a unit and SI."""

from __future__ import annotations

import math

from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities.atmosphere import STANDARD_ATMOSPHERE_PA, checked_atmosphere_pa
from shopcool.engineering.quantities.kinds import Kind
from shopcool.engineering.quantities.units import Unit, unit_named
from shopcool.engineering.results import finite


def from_unit(
    value: float,
    unit: str,
    kind: Kind,
    *,
    basis: str = "",
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA,
) -> float:
    """Return the SI value of a number in a unit.

    Parameters:
        value: the number [in unit].
        unit: symbol or known spelling.
        kind: what is measured; a temperature difference has no offset.
        basis: for pressures, gauge, absolute or vacuum (depth below the air pressure); when empty, absolute
            for the units of vacuum gauges and gauge for the others.
        atmosphere_pa: air pressure that gauge and vacuum refer to [Pa].

    Returns: SI value; pressures absolute [Pa].

    Raises ``not_a_number``, ``unknown_unit``, ``unknown_basis``, ``below_perfect_vacuum``,
    ``below_absolute_zero``, ``out_of_range`` (beyond what a float holds).
    """
    described = unit_named(unit, kind)
    si = (finite(value, "value") + described.offset) * described.factor
    if kind is Kind.PRESSURE:
        si = _absolute_pa(si, basis or usual_basis(described), checked_atmosphere_pa(atmosphere_pa))
    if kind is Kind.TEMPERATURE and si < 0.0:
        raise Refusal("below_absolute_zero", f"{value:g} {unit} is below absolute zero: check sign and unit.")
    if not math.isfinite(si):
        raise Refusal("out_of_range", "The number is too large.")
    return si


def to_unit(
    si: float, unit: str, kind: Kind, *, basis: str = "", atmosphere_pa: float = STANDARD_ATMOSPHERE_PA
) -> float:
    """Return an SI value as a number in a unit; the inverse of :func:`from_unit`, air pressure in [Pa]."""
    described = unit_named(unit, kind)
    value = finite(si, "si")
    if kind is Kind.PRESSURE:
        value = _on_basis_pa(value, basis or usual_basis(described), checked_atmosphere_pa(atmosphere_pa))
    number = value / described.factor - described.offset
    if not math.isfinite(number):
        raise Refusal("out_of_range", "The number is too large.")
    return number


def usual_basis(unit: Unit) -> str:
    """Return the basis of a pressure whose text names none: vacuum gauges show absolute pressure."""
    return "absolute" if unit.absolute else "gauge"


def _absolute_pa(reading_pa: float, basis: str, atmosphere_pa: float) -> float:
    if basis == "absolute":
        absolute = reading_pa
    elif basis == "gauge":
        absolute = atmosphere_pa + reading_pa
    elif basis == "vacuum":
        absolute = atmosphere_pa - reading_pa
    else:
        raise Refusal("unknown_basis", "A pressure is gauge, absolute or vacuum.", field="basis")
    if absolute < 0.0:
        raise Refusal(
            "below_perfect_vacuum",
            "The pressure is below a perfect vacuum: check sign and unit, "
            "or an absolute reading entered as gauge.",
            details={"atmosphere_pa": atmosphere_pa},
        )
    return absolute


def _on_basis_pa(absolute_pa: float, basis: str, atmosphere_pa: float) -> float:
    if basis == "absolute":
        return absolute_pa
    if basis == "gauge":
        return absolute_pa - atmosphere_pa
    if basis == "vacuum":
        return atmosphere_pa - absolute_pa
    raise Refusal("unknown_basis", "A pressure is gauge, absolute or vacuum.", field="basis")
