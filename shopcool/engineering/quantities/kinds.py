"""The kinds of quantity and the reading that a person typed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from enum import StrEnum

from shopcool.engineering.errors import Refusal

BASES = ("", "gauge", "absolute", "vacuum")
COMPARATORS = ("", ">", "<")


class Kind(StrEnum):
    """What a number measures; the SI unit of each kind stands beside it."""

    PRESSURE = "PRESSURE"  # Pa, always absolute
    PRESSURE_DIFFERENCE = "PRESSURE_DIFFERENCE"  # Pa
    TEMPERATURE = "TEMPERATURE"  # K
    TEMPERATURE_DIFFERENCE = "TEMPERATURE_DIFFERENCE"  # K
    MASS = "MASS"  # kg
    VOLUME = "VOLUME"  # m³
    DENSITY = "DENSITY"  # kg/m³
    RESISTANCE = "RESISTANCE"  # Ω
    VOLTAGE = "VOLTAGE"  # V
    LENGTH = "LENGTH"  # m
    DURATION = "DURATION"  # s
    FRACTION = "FRACTION"  # 0 to 1, shown in per cent
    CURRENT = "CURRENT"  # A
    SPEED_RPM = "SPEED_RPM"  # revolutions per minute


@dataclass(frozen=True)
class Quantity:
    """A reading: its SI value and exactly what was typed.

    ``si`` is the value in the SI unit of its kind (pressure always absolute). With ``comparator`` ``>`` or
    ``<`` it is a limit, not a value. ``over_range`` marks a tester that showed "OL": ``si`` is then the end
    of its scale when that was typed, else 0.0, so "greater than ``si``" stays true.
    """

    kind: Kind
    si: float
    typed: str
    unit: str
    basis: str = ""
    comparator: str = ""
    over_range: bool = False

    def __post_init__(self) -> None:
        if not math.isfinite(self.si):
            raise Refusal("not_a_number", "The value is missing or not a number.", field="si")
        if self.basis not in BASES or self.comparator not in COMPARATORS:
            raise Refusal("unknown_record", "The stored reading has an unknown basis or comparator.")

    def as_record(self) -> dict[str, object]:
        """Return the reading as plain JSON values."""
        return {**asdict(self), "kind": self.kind.value}

    @classmethod
    def from_record(cls, record: Mapping[str, object]) -> Quantity:
        """Return the reading stored by :meth:`as_record`, or refuse with ``unknown_record``."""
        try:
            return cls(
                kind=Kind(str(record["kind"])),
                si=float(str(record["si"])),
                typed=str(record["typed"]),
                unit=str(record["unit"]),
                basis=str(record["basis"]),
                comparator=str(record["comparator"]),
                over_range=bool(record["over_range"]),
            )
        except (KeyError, ValueError) as error:
            raise Refusal(
                "unknown_record", "The stored reading is incomplete or of an unknown kind."
            ) from error
