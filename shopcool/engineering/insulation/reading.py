"""One reading of an insulation tester, with its comparator and the voltage it was really taken at."""

from __future__ import annotations

from dataclasses import dataclass

from shopcool.engineering.errors import Refusal
from shopcool.engineering.insulation.tester import NOMINAL_SHARE, check_resistance, check_voltage

#: Largest operating uncertainty of a tester, IEC 61557-2:2019 6.2 [-].
OPERATING_UNCERTAINTY = 0.3
COMPARATORS = ("=", ">", "<")


@dataclass(frozen=True)
class InsulationReading:
    """Resistance [ohm] with comparator, nominal and actual test voltage [V].

    ``>`` is over range: the value is the end of the scale, a limit and not a value.
    """

    resistance_ohm: float
    nominal_voltage_v: float
    actual_voltage_v: float
    comparator: str = "="

    @property
    def over_range(self) -> bool:
        """Whether the tester showed more than it can measure."""
        return self.comparator == ">"

    @property
    def at_nominal_voltage(self) -> bool:
        """Whether the tester held at least 90 % of its nominal voltage."""
        return self.actual_voltage_v >= NOMINAL_SHARE * self.nominal_voltage_v

    @property
    def current_a(self) -> float:
        """Current that flowed through the insulation [A]; an upper bound when over range."""
        return self.actual_voltage_v / self.resistance_ohm

    @property
    def lowest_ohm(self) -> float:
        """Least resistance [ohm] that agrees with the reading and the operating uncertainty."""
        if self.comparator == "<":
            return 0.0
        return self.resistance_ohm if self.over_range else self.resistance_ohm / (1 + OPERATING_UNCERTAINTY)

    def surely_below(self, other: InsulationReading) -> bool:
        """Return whether this reading is lower than another by more than both testers may be wrong."""
        if self.over_range or other.comparator == "<":
            return False
        return self.resistance_ohm * (1 + OPERATING_UNCERTAINTY) < other.lowest_ohm


def check_reading(reading: InsulationReading, field: str = "reading") -> None:
    """Refuse a reading that can't be one.

    Raises ``not_a_number``, ``resistance``, ``voltage``, ``comparator``.
    """
    check_resistance(reading.resistance_ohm, field)
    check_voltage(reading.nominal_voltage_v, field)
    check_voltage(reading.actual_voltage_v, field)
    if reading.comparator not in COMPARATORS:
        raise Refusal("comparator", "A reading is a value, above (>) or below (<) one.", field=field)
