"""An oil sample in a vial: compared with new oil of its kind, at full voltage, and only when mixed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering.errors import Refusal
from shopcool.engineering.insulation.reading import InsulationReading, check_reading
from shopcool.engineering.results import Notice

METHOD_VERSION = "insulation-sample 1"
SOURCE = "Comparison of one tester's readings with its operating uncertainty (IEC 61557-2:2019 6.2)"
MOST_READINGS = 1000


class Verdict(StrEnum):
    """What the sample shows, the gravest first."""

    FAULT_BELOW_NOMINAL_VOLTAGE = "fault_below_nominal_voltage"
    FALLING_WITH_MIXING = "falling_with_mixing"
    LOWER_THAN_NEW = "lower_than_new"
    NOT_MIXED = "not_mixed"
    NO_REFERENCE = "no_reference"
    OVER_RANGE = "over_range"
    LIKE_NEW = "like_new"


SENTENCES = {
    Verdict.FAULT_BELOW_NOMINAL_VOLTAGE: (
        "The oil conducts: the tester could not hold its voltage. Treat the circuit as contaminated."
    ),
    Verdict.FALLING_WITH_MIXING: (
        "The value falls as the sample is mixed: conductive matter, such as water, had settled out. Not a "
        "pass."
    ),
    Verdict.LOWER_THAN_NEW: "Lower than new oil at full voltage, by more than the tester may err: no pass.",
    Verdict.NOT_MIXED: "Judged only when mixed, because water settles out: stir or shake, then read again.",
    Verdict.NO_REFERENCE: (
        "A value without a comparison: measure new oil of the same kind with the same tester and electrodes."
    ),
    Verdict.OVER_RANGE: "Above the range of the tester at full voltage, mixed: it shows nothing conductive.",
    Verdict.LIKE_NEW: "Like new oil of its kind within what the tester may be wrong.",
}
ADVICE = Notice(
    "sample_only",
    "A vial shows the oil that came out, not the compressor: the maker's test of the component decides.",
)


@dataclass(frozen=True)
class SampleTest:
    """An oil sample: readings in order, the comparison with new oil, current at the last reading [A]."""

    readings: tuple[InsulationReading, ...]
    new_oil: InsulationReading | None
    mixed: bool
    verdict: Verdict
    sentence: str
    current_a: float
    warnings: tuple[Notice, ...] = (ADVICE,)
    source: str = SOURCE
    method_version: str = METHOD_VERSION

    @property
    def shows_contamination(self) -> bool:
        """Whether the sample speaks against the oil."""
        return self.verdict in CONTAMINATED


CONTAMINATED = frozenset(
    {Verdict.FAULT_BELOW_NOMINAL_VOLTAGE, Verdict.FALLING_WITH_MIXING, Verdict.LOWER_THAN_NEW}
)


def sample_test(
    readings: Sequence[InsulationReading], *, mixed: bool, new_oil: InsulationReading | None = None
) -> SampleTest:
    """Judge an oil sample by its readings while it is stirred.

    Parameters:
        readings: one or more readings in the order of mixing.
        mixed: whether the last reading was taken with water and oil well mixed.
        new_oil: reading of new oil of the same kind, same tester and electrodes; None when not measured.

    Returns: verdict with the current at the last reading [A].

    Raises ``few``, ``many``, ``not_a_number``, ``resistance``, ``voltage``, ``comparator``.

    Source: comparison within the operating uncertainty of IEC 61557-2:2019 6.2.
    """
    if not readings:
        raise Refusal("few", "A sample needs at least one reading.", field="readings")
    if len(readings) > MOST_READINGS:
        raise Refusal("many", f"More than {MOST_READINGS} readings of one sample.", field="readings")
    for reading in readings:
        check_reading(reading, "readings")
    if new_oil is not None:
        check_reading(new_oil, "new_oil")
    verdict = _verdict(readings, mixed, new_oil)
    return SampleTest(
        readings=tuple(readings),
        new_oil=new_oil,
        mixed=mixed,
        verdict=verdict,
        sentence=SENTENCES[verdict],
        current_a=readings[-1].current_a,
    )


def _verdict(
    readings: Sequence[InsulationReading], mixed: bool, new_oil: InsulationReading | None
) -> Verdict:
    last = readings[-1]
    if not all(reading.at_nominal_voltage for reading in readings):
        return Verdict.FAULT_BELOW_NOMINAL_VOLTAGE
    if any(last.surely_below(earlier) for earlier in readings[:-1]):
        return Verdict.FALLING_WITH_MIXING
    if new_oil is not None and last.surely_below(new_oil):
        return Verdict.LOWER_THAN_NEW
    if not mixed:
        return Verdict.NOT_MIXED
    if last.over_range:
        return Verdict.OVER_RANGE
    return Verdict.NO_REFERENCE if new_oil is None or last.comparator == "<" else Verdict.LIKE_NEW
