"""Show an SI value in the unit a person prefers."""

from __future__ import annotations

from shopcool.engineering.quantities.atmosphere import STANDARD_ATMOSPHERE_PA
from shopcool.engineering.quantities.conversion import to_unit, usual_basis
from shopcool.engineering.quantities.kinds import Kind, Quantity
from shopcool.engineering.quantities.units import Unit, unit_named

_BASIS_SUFFIX = {"gauge": "(g)", "absolute": "(a)", "vacuum": " vacuum"}
_LARGEST_PLAIN_NUMBER = 1e15


def format_quantity(
    si: float,
    kind: Kind,
    unit: str,
    *,
    basis: str = "",
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA,
    digits: int | None = None,
) -> str:
    """Return an SI value as text that :func:`parse` reads back.

    Parameters:
        si: SI value; pressures absolute [Pa].
        kind: what is measured.
        unit: symbol or known spelling.
        basis: for pressures, gauge, absolute or vacuum, the unit's usual one when empty; a pressure above the
            air is never shown as vacuum.
        atmosphere_pa: air pressure that gauge and vacuum refer to [Pa].
        digits: decimals; the unit's usual ones when absent.

    Returns: number, unit and, for pressures, the basis: ``2.10 bar(g)``, ``20.0 inHg vacuum``,
    ``750 micron``.
    """
    described = unit_named(unit, kind)
    basis = basis or usual_basis(described)
    if basis == "vacuum" and si > atmosphere_pa:
        basis = "gauge"
    number = to_unit(si, described.symbol, kind, basis=basis, atmosphere_pa=atmosphere_pa)
    shown = _number(number, _usual_digits(number, described) if digits is None else digits)
    if kind is not Kind.PRESSURE or (described.absolute and basis == "absolute"):
        return f"{shown} {described.symbol}"
    return f"{shown} {described.symbol}{_BASIS_SUFFIX[basis]}"


def format_reading(
    reading: Quantity,
    *,
    unit: str = "",
    basis: str = "",
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA,
    digits: int | None = None,
) -> str:
    """Return a reading with its comparator (``> 2.20 GΩ``, ``OL``), in its own unit unless told otherwise.

    Options as those of :func:`format_quantity`, air pressure in [Pa].
    """
    if reading.over_range and not reading.si:
        return "OL"
    shown = format_quantity(
        reading.si,
        reading.kind,
        unit or reading.unit,
        basis=basis or reading.basis,
        atmosphere_pa=atmosphere_pa,
        digits=digits,
    )
    return f"{reading.comparator} {shown}".strip()


def _usual_digits(number: float, unit: Unit) -> int:
    is_fine = abs(number) < unit.fine_below and round(number, unit.decimals + 1) != round(
        number, unit.decimals
    )
    return unit.decimals + is_fine


def _number(value: float, decimals: int) -> str:
    if abs(value) >= _LARGEST_PLAIN_NUMBER:
        return f"{value:.6e}"
    shown = f"{value:.{decimals}f}"
    return shown.removeprefix("-") if float(shown) == 0.0 else shown
