"""The readings of a vacuum hold, refused when no answer could rest on them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from shopcool.engineering import properties
from shopcool.engineering.errors import Refusal
from shopcool.engineering.fluids import Fluid
from shopcool.engineering.limits import check_temperature, number, within

FEWEST_READINGS = 8
MOST_READINGS = 20_000
SHORTEST_S = 240.0
LONGEST_S = 7 * 86_400.0
NOT_A_VACUUM_PA = 20_000.0
FINEST_STEP_PA = 1e-4
FREEZING_K = 273.16


@dataclass(frozen=True)
class Readings:
    """Checked readings: times [s], absolute pressures [Pa], temperature [K], resolution and noise [Pa]."""

    times_s: tuple[float, ...]
    pressures_pa: tuple[float, ...]
    temperature_k: float
    resolution_pa: float
    noise_pa: float

    @property
    def duration_s(self) -> float:
        """Time from the first to the last reading [s]."""
        return self.times_s[-1] - self.times_s[0]

    @property
    def rise_pa(self) -> float:
        """Rise from the first to the last reading [Pa]."""
        return self.pressures_pa[-1] - self.pressures_pa[0]


def check_readings(
    times_s: Sequence[float],
    pressures_pa: Sequence[float],
    *,
    temperature_k: float,
    resolution_pa: float,
    noise_pa: float,
) -> Readings:
    """Return the readings when a hold can be judged by them: times [s], pressures [Pa], temperature [K].

    Raises :class:`Refusal` with ``not_a_number``, ``pairs``, ``few``, ``many``, ``dup``, ``short``, ``long``,
    ``neg``, ``not_vacuum``, ``temperature``, ``resolution`` or ``noise``.
    """
    if len(times_s) != len(pressures_pa):
        raise Refusal(
            "pairs", "Each pressure needs its time: the two lists differ in length.", field="times_s"
        )
    _check_number(len(times_s))
    times = tuple(number(time, name="The time of a reading", field="times_s") for time in times_s)
    pressures = tuple(number(value, name="A pressure", field="pressures_pa") for value in pressures_pa)
    _check_times(times)
    _check_pressures(pressures)
    _check_instrument(resolution_pa, noise_pa)
    check_temperature(temperature_k)
    return Readings(times, pressures, float(temperature_k), float(resolution_pa), float(noise_pa))


def _check_number(count: int) -> None:
    if count < FEWEST_READINGS:
        raise Refusal(
            "few",
            f"A hold needs at least {FEWEST_READINGS} readings; there are {count}.",
            field="pressures_pa",
        )
    if count > MOST_READINGS:
        raise Refusal(
            "many", f"More than {MOST_READINGS} readings: take fewer per minute.", field="pressures_pa"
        )


def _check_times(times: tuple[float, ...]) -> None:
    if any(later <= earlier for earlier, later in pairwise(times)):
        raise Refusal("dup", "Two readings share a time or run backwards: check the times.", field="times_s")
    if times[-1] - times[0] < SHORTEST_S:
        raise Refusal("short", "The hold lasted less than 4 minutes: hold longer.", field="times_s")
    if times[-1] - times[0] > LONGEST_S:
        raise Refusal("long", "The hold lasted more than 7 days: check the times.", field="times_s")


def _check_pressures(pressures: tuple[float, ...]) -> None:
    if min(pressures) <= 0:
        raise Refusal(
            "neg",
            "A reading is at or below a perfect vacuum: the gauge needs zeroing, or the local air pressure "
            "is lower than assumed (altitude).",
            field="pressures_pa",
        )
    if max(pressures) > NOT_A_VACUUM_PA:
        raise Refusal(
            "not_vacuum",
            "A reading is above 200 mbar absolute: this is not a vacuum hold, or the unit is wrong.",
            field="pressures_pa",
        )


def _check_instrument(resolution: float, noise: float) -> None:
    within(
        resolution,
        FINEST_STEP_PA,
        NOT_A_VACUUM_PA,
        name="The smallest step of the gauge",
        field="resolution_pa",
        code="resolution",
        message="The smallest step of the gauge must be between 0.0001 Pa and 200 mbar.",
    )
    within(
        noise,
        0,
        NOT_A_VACUUM_PA,
        name="The noise of the gauge",
        field="noise_pa",
        code="noise",
        message="The noise of the gauge must be between 0 and 200 mbar.",
    )


def water_limit_pa(temperature_k: float) -> float:
    """Return the pressure [Pa] at which liquid water or ice at this temperature [K] stops evaporating."""
    if temperature_k < FREEZING_K:
        return properties.ice_vapour_pressure_pa(temperature_k)
    return properties.saturation_pressure_pa(Fluid.WATER, temperature_k)
