"""A component's insulation test, such as compressor terminals to case: no pass by default."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering.insulation.floors import Bus, Floor, check_working_voltage, floor
from shopcool.engineering.insulation.reading import InsulationReading, check_reading
from shopcool.engineering.insulation.tester import check_resistance
from shopcool.engineering.limits import within
from shopcool.engineering.results import Notice

METHOD_VERSION = "insulation-component 1"
SOURCE = "UN R100 5.1.3 floors; IEC 61557-2:2019; ISO 6469-3 for the test voltage; the limit is the maker's"
USUAL_DURATION_S = 60.0


class Verdict(StrEnum):
    """What the test says, the gravest first."""

    BELOW_VEHICLE_FLOOR = "below_vehicle_floor"
    FAULT_BELOW_NOMINAL_VOLTAGE = "fault_below_nominal_voltage"
    BELOW_LIMIT = "below_limit"
    TEST_VOLTAGE_TOO_LOW = "test_voltage_too_low"
    NO_LIMIT = "no_limit"
    RANGE_BELOW_LIMIT = "range_below_limit"
    MEETS_LIMIT = "meets_limit"


SENTENCES = {
    Verdict.BELOW_VEHICLE_FLOOR: "Below even the floor of the whole vehicle: do not energise.",
    Verdict.FAULT_BELOW_NOMINAL_VOLTAGE: (
        "Fault found: the tester could not hold its voltage. The value is not one at nominal voltage and "
        "no pass."
    ),
    Verdict.BELOW_LIMIT: "Below the component limit of the vehicle maker.",
    Verdict.TEST_VOLTAGE_TOO_LOW: (
        "The test voltage does not reach the working voltage: this test can't clear the component."
    ),
    Verdict.NO_LIMIT: (
        "No component limit of the vehicle maker is on file, so this is a value and not a pass. The floor of "
        "the vehicle is no limit for a component."
    ),
    Verdict.RANGE_BELOW_LIMIT: "Over range, but the scale of the tester ends below the limit: no pass.",
    Verdict.MEETS_LIMIT: "At or above the component limit of the vehicle maker.",
}
CAUTIONS = (
    Notice(
        "isolated",
        "Circuit de-energised, locked out and proved dead by a qualified person; discharge after the test.",
    ),
    Notice(
        "electronics",
        "Never test through built-in electronics unless the maker says so; Y-capacitors and insulation "
        "monitors must be disconnected.",
    ),
    Notice("warm", "Cold liquid refrigerant in the compressor lowers the value: repeat it warm."),
)
SHORT = Notice("short_duration", "Taken after less than 60 s: the value may still have been rising.")


@dataclass(frozen=True)
class ComponentTest:
    """A component test with its vehicle floor, limit [ohm] and verdict; only ``MEETS_LIMIT`` is a pass."""

    reading: InsulationReading
    working_voltage_v: float
    duration_s: float
    floor: Floor
    limit_ohm: float | None
    limit_source: str
    verdict: Verdict
    sentence: str
    warnings: tuple[Notice, ...]
    source: str = SOURCE
    method_version: str = METHOD_VERSION

    @property
    def is_pass(self) -> bool:
        """Whether the maker's limit is met at full test voltage."""
        return self.verdict is Verdict.MEETS_LIMIT


def component_test(
    reading: InsulationReading,
    *,
    working_voltage_v: float,
    bus: Bus,
    duration_s: float,
    limit_ohm: float | None = None,
    limit_source: str = "",
) -> ComponentTest:
    """Judge one insulation test of a component.

    Parameters:
        reading: resistance with comparator, nominal and actual voltage.
        working_voltage_v: highest working voltage of the bus [V].
        bus: kind of bus, for the floor of the vehicle.
        duration_s: how long the voltage had been applied [s].
        limit_ohm: limit the maker states for this component [ohm]; None when none is on file.
        limit_source: where the limit comes from.

    Returns: verdict; there is no pass without a maker's limit.

    Raises ``not_a_number``, ``resistance``, ``voltage``, ``comparator``, ``working_voltage``, ``duration``.

    Source: UN R100 5.1.3; IEC 61557-2:2019; ISO 6469-3.
    """
    check_reading(reading)
    check_working_voltage(working_voltage_v)
    if limit_ohm is not None:
        check_resistance(limit_ohm, "limit_ohm")
    within(
        duration_s,
        0,
        86_400,
        name="The duration",
        field="duration_s",
        code="duration",
        message="The duration must be between 0 s and one day.",
    )
    vehicle = floor(working_voltage_v, bus)
    verdict = _verdict(reading, vehicle, limit_ohm)
    return ComponentTest(
        reading=reading,
        working_voltage_v=working_voltage_v,
        duration_s=duration_s,
        floor=vehicle,
        limit_ohm=limit_ohm,
        limit_source=limit_source,
        verdict=verdict,
        sentence=SENTENCES[verdict],
        warnings=CAUTIONS + ((SHORT,) if duration_s < USUAL_DURATION_S else ()),
    )


def _verdict(reading: InsulationReading, vehicle: Floor, limit_ohm: float | None) -> Verdict:
    shown = reading.resistance_ohm
    if shown < vehicle.resistance_ohm and not reading.over_range:
        return Verdict.BELOW_VEHICLE_FLOOR
    if not reading.at_nominal_voltage:
        return Verdict.FAULT_BELOW_NOMINAL_VOLTAGE
    if limit_ohm is not None and not reading.over_range and _below(reading, limit_ohm):
        return Verdict.BELOW_LIMIT
    if reading.nominal_voltage_v < vehicle.working_voltage_v:
        return Verdict.TEST_VOLTAGE_TOO_LOW
    if limit_ohm is None:
        return Verdict.NO_LIMIT
    if reading.over_range and shown < limit_ohm:
        return Verdict.RANGE_BELOW_LIMIT
    return Verdict.MEETS_LIMIT


def _below(reading: InsulationReading, limit_ohm: float) -> bool:
    """Return whether the reading is below the limit; an upper bound can't meet it."""
    return reading.resistance_ohm < limit_ohm or reading.comparator == "<"
