"""What the results of all computations share."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shopcool.engineering.errors import Refusal


@dataclass(frozen=True)
class Notice:
    """A remark that travels with a result: stable code for programs, sentence for people."""

    code: str
    message: str


def finite(value: float, name: str) -> float:
    """Return ``value`` when it is a finite number, else refuse with ``not_a_number``."""
    if type(value) is float and math.isfinite(value):
        return value
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise Refusal("not_a_number", f"{name} is missing or not a number.", field=name)
    return float(value)
