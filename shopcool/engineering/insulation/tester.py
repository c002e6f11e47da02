"""The insulation tester itself: what it delivers when its voltage collapses, what it could prove."""

from __future__ import annotations

from dataclasses import dataclass

from shopcool.engineering.errors import Refusal
from shopcool.engineering.limits import within
from shopcool.engineering.results import Notice

METHOD_VERSION = "insulation-tester 1"
SOURCE = "Ohm's law with one source resistance; rated current and loads of IEC 61557-2:2019, 6.3 and 6.4"
#: A value counts as taken at nominal voltage from this share of it.
NOMINAL_SHARE = 0.9
RATED_CURRENT_A = 1e-3
LOWEST_TEST_V, HIGHEST_TEST_V = 0.1, 5000.0
SMALLEST_OHM, LARGEST_OHM = 1.0, 1e15


@dataclass(frozen=True)
class Tester:
    """A tester seen through one loaded reading.

    ``current_a`` [A] flowed, ``source_ohm`` [ohm] is inside the tester, ``short_circuit_a`` [A] is the most
    it can deliver. ``smallest_at_nominal_ohm`` [ohm] is the least resistance at which it still holds 90 %
    of its nominal voltage: below it a value is not one at nominal voltage. None when it never does.
    """

    nominal_voltage_v: float
    open_voltage_v: float
    loaded_voltage_v: float
    loaded_ohm: float
    current_a: float
    source_ohm: float
    short_circuit_a: float
    smallest_at_nominal_ohm: float | None
    rated_ohm: float
    rated_voltage_v: float
    rated_current_a: float
    warnings: tuple[Notice, ...]
    source: str = SOURCE
    method_version: str = METHOD_VERSION

    @property
    def delivers_rated_current(self) -> bool:
        """Whether 1 mA flows into 1000 ohm per volt, as the standard proves it."""
        return self.rated_current_a >= RATED_CURRENT_A

    def voltage_v(self, resistance_ohm: float) -> float:
        """Return the voltage [V] the tester holds across a resistance [ohm]."""
        return self.open_voltage_v * resistance_ohm / (resistance_ohm + self.source_ohm)


def loaded_tester(
    open_voltage_v: float, loaded_voltage_v: float, loaded_ohm: float, *, nominal_voltage_v: float
) -> Tester:
    """Return what a tester delivers, from its open voltage and one loaded reading.

    Parameters:
        open_voltage_v: voltage without load [V], up to 5000.
        loaded_voltage_v: voltage across the load [V], below the open voltage.
        loaded_ohm: resistance shown at that voltage [ohm].
        nominal_voltage_v: voltage range the tester is set to [V].

    Returns: current, source resistance, short-circuit current, and the load it can hold at nominal voltage.

    Raises ``not_a_number``, ``voltage``, ``resistance``, ``tester``.

    Source: Ohm's law; IEC 61557-2:2019 6.4 for the rated current.
    """
    check_voltage(nominal_voltage_v, "nominal_voltage_v")
    check_voltage(open_voltage_v, "open_voltage_v")
    check_voltage(loaded_voltage_v, "loaded_voltage_v")
    check_resistance(loaded_ohm, "loaded_ohm")
    if loaded_voltage_v >= open_voltage_v:
        raise Refusal(
            "tester",
            "The loaded voltage is not below the open voltage: nothing can be told about the tester.",
            field="loaded_voltage_v",
        )
    current = loaded_voltage_v / loaded_ohm
    source = (open_voltage_v - loaded_voltage_v) / current
    rated = nominal_voltage_v / RATED_CURRENT_A
    rated_current = open_voltage_v / (rated + source)
    return Tester(
        nominal_voltage_v=nominal_voltage_v,
        open_voltage_v=open_voltage_v,
        loaded_voltage_v=loaded_voltage_v,
        loaded_ohm=loaded_ohm,
        current_a=current,
        source_ohm=source,
        short_circuit_a=open_voltage_v / source,
        smallest_at_nominal_ohm=_smallest_at_nominal(
            open_voltage_v, NOMINAL_SHARE * nominal_voltage_v, source
        ),
        rated_ohm=rated,
        rated_voltage_v=rated_current * rated,
        rated_current_a=rated_current,
        warnings=_warnings(rated_current),
    )


def _smallest_at_nominal(open_voltage: float, wanted: float, source: float) -> float | None:
    return source * wanted / (open_voltage - wanted) if open_voltage > wanted else None


def _warnings(rated_current: float) -> tuple[Notice, ...]:
    if rated_current >= RATED_CURRENT_A:
        return ()
    return (
        Notice(
            "below_rated_current",
            "This tester delivers less than 1 mA into 1000 ohm per volt: a low value it shows is not one at "
            "nominal voltage.",
        ),
    )


def check_voltage(voltage_v: float, field: str) -> None:
    """Refuse a test voltage [V] that no insulation tester has, with ``voltage``."""
    within(
        voltage_v,
        LOWEST_TEST_V,
        HIGHEST_TEST_V,
        name="The voltage of the tester",
        field=field,
        code="voltage",
        message="The voltage of the tester must be between 0.1 and 5000 V.",
    )


def check_resistance(resistance_ohm: float, field: str) -> None:
    """Refuse a resistance [ohm] outside 1 ohm to 1000 teraohm, with ``resistance``."""
    within(
        resistance_ohm,
        SMALLEST_OHM,
        LARGEST_OHM,
        name="The resistance",
        field=field,
        code="resistance",
        message="The resistance must be between 1 ohm and 1000 teraohm.",
    )
