"""The pressure of the air around the workshop."""

from __future__ import annotations

from shopcool.engineering.errors import Refusal
from shopcool.engineering.results import finite

STANDARD_ATMOSPHERE_PA = 101325.0
LOWEST_ATMOSPHERE_PA = 50_000.0
HIGHEST_ATMOSPHERE_PA = 110_000.0

# ISO 2533:1975 standard atmosphere, troposphere.
_SEA_LEVEL_TEMPERATURE_K = 288.15
_LAPSE_RATE_K_PER_M = 0.0065
_EXPONENT = 9.80665 / (287.05287 * _LAPSE_RATE_K_PER_M)
_EARTH_RADIUS_M = 6_356_766.0
_LOWEST_ALTITUDE_M = -500.0
_HIGHEST_ALTITUDE_M = 5500.0


def atmosphere_from_altitude_pa(altitude_m: float) -> float:
    """Return the standard air pressure at an altitude.

    Parameters:
        altitude_m: height above sea level [m], −500 to 5500.

    Returns: absolute pressure [Pa].

    Raises ``altitude`` outside the limits. Weather moves the true value by ±3 %: a barometer is better.

    Source: ISO 2533:1975, Standard atmosphere, troposphere equations.
    """
    altitude = finite(altitude_m, "altitude_m")
    if not _LOWEST_ALTITUDE_M <= altitude <= _HIGHEST_ALTITUDE_M:
        raise Refusal(
            "altitude",
            f"An altitude of {altitude:g} m is not one of a workshop (−500 to 5500 m): check the unit.",
            field="altitude_m",
        )
    geopotential_m = _EARTH_RADIUS_M * altitude / (_EARTH_RADIUS_M + altitude)
    ratio = 1.0 - _LAPSE_RATE_K_PER_M * geopotential_m / _SEA_LEVEL_TEMPERATURE_K
    return float(STANDARD_ATMOSPHERE_PA * ratio**_EXPONENT)


def checked_atmosphere_pa(atmosphere_pa: float) -> float:
    """Return the air pressure [Pa] when it is one of this planet's workshops, else refuse with ``p_atm``."""
    value = finite(atmosphere_pa, "atmosphere_pa")
    if not LOWEST_ATMOSPHERE_PA <= value <= HIGHEST_ATMOSPHERE_PA:
        raise Refusal(
            "p_atm",
            f"An air pressure of {value:g} Pa is not plausible (50 000 to 110 000 Pa): "
            "check altitude or barometer (hPa entered as Pa?).",
            field="atmosphere_pa",
        )
    return value
