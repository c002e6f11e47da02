"""Factors and air pressures beside their sources."""

from __future__ import annotations

import fluids

from shopcool.engineering.quantities import (
    Kind,
    Quantity,
    atmosphere_from_altitude_pa,
    from_unit,
    parse,
    to_unit,
    units_of,
)
from tests.engineering.checks import Check

SP811 = "NIST SP 811:2008, appendix B.8"

CHECKS: tuple[Check, ...] = (
    *(
        Check(
            "quantities",
            f"one {unit} in SI",
            lambda kind=kind, unit=unit: from_unit(1.0, unit, kind, basis="absolute"),
            value,
            tolerance,
            SP811,
            "published",
        )
        for kind, unit, value, tolerance in (
            (Kind.PRESSURE, "psi", 6.894757e3, 1e-6),
            (Kind.PRESSURE, "inHg", 3.386389e3, 1e-9),
            (Kind.PRESSURE, "Torr", 1.333224e2, 1e-6),
            (Kind.MASS, "oz", 2.834952e-2, 1e-6),
            (Kind.MASS, "lb", 4.535924e-1, 1e-6),
            (Kind.VOLUME, "US fl oz", 2.957353e-5, 1e-6),
            (Kind.VOLUME, "imp fl oz", 2.841306e-5, 1e-6),
            (Kind.LENGTH, "ft", 3.048e-1, 1e-12),
            (Kind.TEMPERATURE_DIFFERENCE, "°F", 5.555556e-1, 1e-6),
        )
    ),
    *(
        Check(
            "quantities",
            f"standard air pressure at {altitude:g} m [Pa]",
            lambda altitude=altitude: atmosphere_from_altitude_pa(altitude),
            lambda altitude=altitude: float(fluids.ATMOSPHERE_1976(altitude).P),
            1e-6,
            "fluids library, US Standard Atmosphere 1976",
            "independent library",
        )
        for altitude in (-300.0, 0.0, 1500.0, 3000.0)
    ),
    Check(
        "quantities",
        "standard air pressure at 5000 ft [inHg]",
        lambda: to_unit(atmosphere_from_altitude_pa(5000 * 0.3048), "inHg", Kind.PRESSURE, basis="absolute"),
        24.9,
        0.05,
        "standard atmosphere, 24.9 inHg at 5000 ft",
        "from memory",
        absolute=True,
    ),
    Check(
        "quantities",
        "30 °F of difference [K]",
        lambda: typed("30 °F", Kind.TEMPERATURE_DIFFERENCE).si,
        30.0 * 5.0 / 9.0,
        1e-12,
        "five ninths",
        "arithmetic",
    ),
    Check(
        "quantities",
        "140 ml of oil [US fl oz]",
        lambda: to_unit(140e-6, "US fl oz", Kind.VOLUME),
        4.73,
        1e-3,
        "vehicle service manual, oil amounts in three units",
        "published",
    ),
    Check(
        "quantities",
        "140 ml of oil [imp fl oz]",
        lambda: to_unit(140e-6, "imp fl oz", Kind.VOLUME),
        4.93,
        1e-3,
        "vehicle service manual, oil amounts in three units",
        "published",
    ),
)

DEFAULT_UNITS = {kind: units_of(kind)[0] for kind in Kind}
PSI_PA = 6894.757293168


def typed(text: str, kind: Kind, **options: object) -> Quantity:
    return parse(text, kind, default_unit=DEFAULT_UNITS[kind], **options)  # type: ignore[arg-type]
