"""One vacuum hold: leak, moisture or outgassing, both, or neither to be told."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from shopcool.engineering.errors import Refusal
from shopcool.engineering.results import Notice
from shopcool.engineering.vacuum_hold.fit import Array, Fit, fit_rise, rises_faster
from shopcool.engineering.vacuum_hold.readings import (
    FEWEST_READINGS,
    Readings,
    check_readings,
    water_limit_pa,
)

METHOD_VERSION = "vacuum-hold 1"
SOURCE = (
    "Linear rise plus first-order transient, bounded variable projection (Golub and Pereyra 1973), profile "
    "interval (Bates and Watts 1988); separation measured on synthetic holds"
)
#: A gauge that resolves less can't grade a vacuum at all: half an inch of mercury is 1693 Pa.
COARSEST_RESOLUTION_PA = 500.0
#: A finer gauge still can't, when the rise is only a few of its steps and a step hides a wet system.
COARSE_RESOLUTION_PA = 20.0
STEPS_TO_SEE_A_SHAPE = 3.0
#: Least steady rise over the hold that is told from none, in scatters of one reading.
LEAST_RISE = 0.5
#: A fall of the line by this many scatters of a reading is no noise.
SURE_FALL = 3.0
#: The steady share of the rise below which the transient is what was seen.
MINOR_SHARE = 0.19
#: Parts of the hold that are fitted again: a leak keeps its rate, slow outgassing slows down.
WINDOWS = (0.5, 0.65)


#: Correlation of neighbouring residuals above which even the widened interval covers less than it says.
HIGH_CORRELATION = 0.5

BELOW_WATER = Notice(
    "below_water",
    "It levels far below the vapour pressure of water at this temperature: not liquid water, but desorption "
    "from oil or desiccant, refrigerant leaving oil, or ice.",
)
NOT_DEEP_ENOUGH = Notice(
    "not_deep_enough",
    "The whole hold stands above the vapour pressure of water: water, if any, had no reason to evaporate. "
    "Evacuate deeper.",
)
TOO_SHORT = Notice(
    "too_short", "The hold is shorter than three times the time in which the rise bends: hold longer."
)
CORRELATED = Notice(
    "correlated", "Neighbouring readings depend on each other: the interval may still be too narrow."
)
GROSS_CHECK = Notice(
    "gross_check",
    "A vacuum hold is a gross check: in minutes it can't see a leak of some tens of grams per year.",
)


class Verdict(StrEnum):
    """What a hold says, in the order of how much it says."""

    NO_RISE = "no_rise"
    LEAK = "leak"
    OUTGASSING = "outgassing"
    LEAK_AND_OUTGASSING = "leak_and_outgassing"
    RATE_NOT_CONSTANT = "rate_not_constant"
    CANNOT_SEPARATE = "cannot_separate"
    GAUGE_TOO_COARSE = "gauge_too_coarse"


STEADY = frozenset({Verdict.LEAK, Verdict.LEAK_AND_OUTGASSING})
SENTENCES = {
    Verdict.NO_RISE: (
        "No rise beyond the error of the gauge. No leak larger than the bound shown; a smaller one is "
        "possible."
    ),
    Verdict.LEAK: (
        "The pressure climbs in a straight line: air comes in. Find the leak, or evacuate and hold again: "
        "refrigerant leaving oil can look the same once, but slows down the second time."
    ),
    Verdict.OUTGASSING: (
        "The rise bends and levels: moisture or gas leaving oil and surfaces. Evacuate longer and hold again."
    ),
    Verdict.LEAK_AND_OUTGASSING: (
        "A steady rise remains after a part that levels off: a leak together with moisture or outgassing. "
        "Evacuate again and hold a second time before hunting the leak."
    ),
    Verdict.RATE_NOT_CONSTANT: (
        "The rise slows down all through the hold, as slow outgassing does; a leak may hide under it. "
        "Evacuate again and hold again until the rate stops falling."
    ),
    Verdict.CANNOT_SEPARATE: (
        "These readings fit a leak as well as moisture or outgassing. Hold longer, at least three times the "
        "time in which the rise bends."
    ),
    Verdict.GAUGE_TOO_COARSE: (
        "The gauge is too coarse for this answer. Use a vacuum gauge that resolves a few pascal (tens of "
        "micron)."
    ),
}


@dataclass(frozen=True)
class VacuumHold:
    """What one hold says.

    Rates are Pa/s of steady rise with a 95 % interval; ``rate_high_pa_s`` is the largest leak that agrees
    with the readings. ``fit`` holds the curves for a chart, ``water_limit_pa`` the vapour pressure [Pa] of
    water or ice at the temperature of the system.
    """

    readings: Readings
    verdict: Verdict
    sentence: str
    rate_pa_s: float
    rate_low_pa_s: float
    rate_high_pa_s: float
    fit: Fit
    water_limit_pa: float
    warnings: tuple[Notice, ...]
    source: str = SOURCE
    method_version: str = METHOD_VERSION

    @property
    def shows_steady_rise(self) -> bool:
        """Whether zero leak disagrees with the readings."""
        return self.rate_low_pa_s > 0


def analyse_hold(
    times_s: Sequence[float],
    pressures_pa: Sequence[float],
    *,
    temperature_k: float,
    resolution_pa: float,
    noise_pa: float = 0.0,
) -> VacuumHold:
    """Judge the pressure rise of an isolated, evacuated system.

    Parameters:
        times_s: times of the readings, rising [s]; 4 minutes to 7 days in all.
        pressures_pa: absolute pressures [Pa], 8 to 20 000 of them, below 200 mbar.
        temperature_k: temperature of the coldest wet part [K].
        resolution_pa: smallest step of the gauge [Pa].
        noise_pa: known standard deviation of a reading [Pa]; 0 when unknown.

    Returns: verdict, steady rise with its 95 % interval [Pa/s], and the fitted curves.

    Raises ``falling``, and for readings nothing can rest on ``not_a_number``, ``pairs``, ``few``, ``many``,
    ``dup``, ``short``, ``long``, ``neg``, ``not_vacuum``, ``temperature``, ``resolution``, ``noise``.

    Source: bounded variable projection, Golub and Pereyra 1973; profile interval, Bates and Watts 1988.
    """
    readings = check_readings(
        times_s, pressures_pa, temperature_k=temperature_k, resolution_pa=resolution_pa, noise_pa=noise_pa
    )
    limit = water_limit_pa(readings.temperature_k)
    times, pressures = np.array(readings.times_s), np.array(readings.pressures_pa)
    if _falls(times, pressures, _noise_pa(readings)):
        raise Refusal(
            "falling",
            "The pressure falls during the hold: the pump is still connected, the gauge drifts or the system "
            "cools. Isolate, settle and repeat.",
            field="pressures_pa",
        )
    fit = fit_rise(times, pressures, noise_pa=_noise_pa(readings), largest_transient_pa=limit)
    low, high = _interval(fit, readings)
    verdict = _verdict(fit, low, high, readings)
    if verdict in STEADY and _slows_down(times, pressures, readings, limit, high):
        verdict = Verdict.RATE_NOT_CONSTANT
    return VacuumHold(
        readings=readings,
        verdict=verdict,
        sentence=SENTENCES[verdict],
        rate_pa_s=fit.best.rate_pa_s,
        rate_low_pa_s=low,
        rate_high_pa_s=high,
        fit=fit,
        water_limit_pa=limit,
        warnings=tuple(_warnings(fit, verdict, readings, limit)),
    )


def _noise_pa(readings: Readings) -> float:
    """Return the least standard deviation of a reading [Pa]: rounding to a step, and what is known."""
    return math.hypot(readings.resolution_pa / math.sqrt(12), readings.noise_pa)


def _falls(times: Array, pressures: Array, noise: float) -> bool:
    """Return whether the pressure falls by more than the readings scatter about a line."""
    spread = times - times.mean()
    slope = float(spread @ pressures / (spread @ spread))
    residuals = pressures - pressures.mean() - slope * spread
    scatter = max(math.sqrt(float(residuals @ residuals) / (len(times) - 2)), noise)
    return slope * float(times[-1] - times[0]) < -SURE_FALL * scatter


def _interval(fit: Fit, readings: Readings) -> tuple[float, float]:
    """Return the interval of the rate [Pa/s], never narrower than one step of the gauge over the hold.

    Rounding is the same for each reading between two steps, so scatter says nothing about it. A rise of less
    than half the scatter of one reading is not called steady.
    """
    step = readings.resolution_pa / readings.duration_s
    low = min(fit.lowest.rate_pa_s, fit.best.rate_pa_s - step)
    if low * readings.duration_s <= fit.scatter_pa * LEAST_RISE:
        low = 0.0
    return low, max(fit.highest.rate_pa_s, fit.best.rate_pa_s + step)


def _verdict(fit: Fit, low: float, high: float, readings: Readings) -> Verdict:
    if _too_coarse(readings):
        return Verdict.GAUGE_TOO_COARSE
    if low > 0:
        return Verdict.LEAK if fit.line_fits else Verdict.LEAK_AND_OUTGASSING
    if fit.flat_fits:
        return Verdict.NO_RISE
    if high * readings.duration_s < MINOR_SHARE * readings.rise_pa:
        return Verdict.OUTGASSING
    return Verdict.CANNOT_SEPARATE


def _too_coarse(readings: Readings) -> bool:
    step = readings.resolution_pa
    if step > COARSEST_RESOLUTION_PA:
        return True
    return step > COARSE_RESOLUTION_PA and readings.rise_pa < STEPS_TO_SEE_A_SHAPE * step


def _slows_down(times: Array, pressures: Array, readings: Readings, limit: float, high: float) -> bool:
    """Return whether the first part of the hold rises faster than the whole of it allows."""
    noise = _noise_pa(readings)
    for share in WINDOWS:
        last = times[0] + share * readings.duration_s * (1 + 1e-9)
        count = int(np.searchsorted(times, last, side="right"))
        if count >= FEWEST_READINGS and rises_faster(
            times[:count], pressures[:count], high, noise_pa=noise, largest_transient_pa=limit
        ):
            return True
    return False


def _warnings(fit: Fit, verdict: Verdict, readings: Readings, limit: float) -> list[Notice]:
    best = fit.best
    bends = best.transient_pa > 0 and verdict is not Verdict.NO_RISE
    said = (
        (BELOW_WATER, verdict is Verdict.OUTGASSING and best.start_pa + best.transient_pa < limit / 2),
        (NOT_DEEP_ENOUGH, min(readings.pressures_pa) >= limit),
        (TOO_SHORT, bends and readings.duration_s < 3 * best.transient_time_s),
        (CORRELATED, fit.correlation > HIGH_CORRELATION),
        (GROSS_CHECK, True),
    )
    return [notice for notice, applies in said if applies]
