"""Water vapour over ice."""

from __future__ import annotations

import math

from shopcool.engineering.errors import Refusal
from shopcool.engineering.properties.windows import celsius
from shopcool.engineering.results import finite

# IAPWS R14-08(2011), equation 6: sublimation pressure of ice Ih from its triple point down.
_ICE_TRIPLE_K, _ICE_TRIPLE_PA, _COLDEST_ICE_K = 273.16, 611.657, 50.0
_ICE_TERMS = (
    (-0.212144006e2, 0.333333333e-2),
    (0.273203819e2, 0.120666667e1),
    (-0.610598130e1, 0.170333333e1),
)


def ice_vapour_pressure_pa(temperature_k: float) -> float:
    """Return the pressure of water vapour over ice.

    Parameters:
        temperature_k: temperature [K], 50 to 273.16.

    Returns: absolute pressure [Pa].

    Raises ``T_range`` outside the limits.

    Source: IAPWS R14-08(2011), equation 6.
    """
    temperature = finite(temperature_k, "temperature_k")
    if not _COLDEST_ICE_K <= temperature <= _ICE_TRIPLE_K:
        raise Refusal(
            "T_range",
            f"There is no ice at {celsius(temperature)}: the ice curve ends at 0.01 °C.",
            field="temperature_k",
        )
    theta = temperature / _ICE_TRIPLE_K
    exponent = sum(factor * theta**power for factor, power in _ICE_TERMS) / theta
    return _ICE_TRIPLE_PA * math.exp(exponent)
