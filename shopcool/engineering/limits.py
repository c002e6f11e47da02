"""The checks that inputs of several computations pass."""

from __future__ import annotations

import math

from shopcool.engineering.errors import Refusal

COLDEST_K, WARMEST_K = 233.15, 353.15


def number(value: float, *, name: str, field: str) -> float:
    """Return ``value`` when it is a finite number, else refuse with ``not_a_number``."""
    if type(value) is float and math.isfinite(value):
        return value
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise Refusal("not_a_number", f"{name} is missing or not a number.", field=field)
    return float(value)


def within(value: float, low: float, high: float, *, name: str, field: str, code: str, message: str) -> float:
    """Return ``value`` when it is a finite number from ``low`` to ``high``.

    ``name`` opens the sentence for a missing number, ``message`` is the sentence for one out of bounds.

    Raises :class:`Refusal` with ``not_a_number`` or with ``code``.
    """
    checked = number(value, name=name, field=field)
    if not low <= checked <= high:
        raise Refusal(code, message, field=field, details={"low": low, "high": high})
    return checked


def check_temperature(temperature_k: float, *, field: str = "temperature_k") -> float:
    """Return the temperature [K] when work is done at it, -40 to 80 °C, else refuse with ``temperature``."""
    return within(
        temperature_k,
        COLDEST_K,
        WARMEST_K,
        name="The temperature",
        field=field,
        code="temperature",
        message="The temperature must be between -40 and 80 °C.",
    )
