"""Two holds of the same system: outgassing shrinks, a leak comes back."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering.errors import Refusal
from shopcool.engineering.results import Notice
from shopcool.engineering.vacuum_hold.hold import VacuumHold, Verdict

METHOD_VERSION = "vacuum-hold-pair 1"
SOURCE = "Comparison of 95 % intervals of two holds; separation measured on synthetic holds"
LIKE_TEMPERATURE_K = 10.0
LIKE_DURATION = 0.5


class PairVerdict(StrEnum):
    """What the second hold adds to the first."""

    LEAK_CONFIRMED = "leak_confirmed"
    RATE_FELL = "rate_fell"
    RATE_ROSE = "rate_rose"
    DRYING = "drying"
    NO_RISE = "no_rise"
    CANNOT_SEPARATE = "cannot_separate"


SENTENCES = {
    PairVerdict.LEAK_CONFIRMED: "The same steady rise came back after a second evacuation: there is a leak.",
    PairVerdict.RATE_FELL: (
        "The steady rise fell after a second evacuation, as outgassing does. Repeat until it stops falling; "
        "the bound of the last hold is what may still leak."
    ),
    PairVerdict.RATE_ROSE: (
        "The steady rise is larger than before: a leak that opened, or a fitting disturbed in between. Check "
        "the connections and hold again."
    ),
    PairVerdict.DRYING: "The part that levels off shrank: moisture or outgassing, and evacuation removes it.",
    PairVerdict.NO_RISE: "The second hold shows no rise beyond the error of the gauge.",
    PairVerdict.CANNOT_SEPARATE: "The two holds together can't tell a leak from outgassing: hold longer.",
}


@dataclass(frozen=True)
class HoldPair:
    """The comparison of two holds; ``rate_bound_pa_s`` [Pa/s] is the largest leak the second allows."""

    first: VacuumHold
    second: VacuumHold
    verdict: PairVerdict
    sentence: str
    rate_bound_pa_s: float
    warnings: tuple[Notice, ...]
    source: str = SOURCE
    method_version: str = METHOD_VERSION


def compare_holds(first: VacuumHold, second: VacuumHold) -> HoldPair:
    """Compare a hold with a second one of the same system after another evacuation.

    Parameters:
        first: the first hold.
        second: the hold after another evacuation, at like temperature and at least half as long.

    Returns: verdict and the largest leak the second hold allows [Pa/s].

    Raises ``gauge_too_coarse``, ``unlike``.

    Source: comparison of 95 % intervals; separation measured on synthetic holds.
    """
    if Verdict.GAUGE_TOO_COARSE in (first.verdict, second.verdict):
        raise Refusal("gauge_too_coarse", "One of the holds was read on a gauge too coarse to compare.")
    if abs(first.readings.temperature_k - second.readings.temperature_k) > LIKE_TEMPERATURE_K:
        raise Refusal("unlike", "The temperatures of the two holds differ by more than 10 K: repeat alike.")
    if second.readings.duration_s < LIKE_DURATION * first.readings.duration_s:
        raise Refusal("unlike", "The second hold is less than half as long as the first: hold longer.")
    verdict = _verdict(first, second)
    return HoldPair(
        first=first,
        second=second,
        verdict=verdict,
        sentence=SENTENCES[verdict],
        rate_bound_pa_s=second.rate_high_pa_s,
        warnings=_warnings(verdict),
    )


def _verdict(first: VacuumHold, second: VacuumHold) -> PairVerdict:
    if second.verdict is Verdict.NO_RISE:
        return PairVerdict.NO_RISE
    if second.rate_high_pa_s < first.rate_low_pa_s:
        return PairVerdict.RATE_FELL
    if second.shows_steady_rise:
        return _verdict_of_steady_rise(first, second)
    if not first.shows_steady_rise and second.verdict is Verdict.OUTGASSING:
        shrank = second.fit.best.transient_pa < first.fit.best.transient_pa
        return PairVerdict.DRYING if shrank else PairVerdict.CANNOT_SEPARATE
    return PairVerdict.CANNOT_SEPARATE


def _verdict_of_steady_rise(first: VacuumHold, second: VacuumHold) -> PairVerdict:
    if second.rate_low_pa_s > first.rate_high_pa_s:
        return PairVerdict.RATE_ROSE
    if first.shows_steady_rise and second.verdict is not Verdict.RATE_NOT_CONSTANT:
        return PairVerdict.LEAK_CONFIRMED
    return PairVerdict.CANNOT_SEPARATE


def _warnings(verdict: PairVerdict) -> tuple[Notice, ...]:
    if verdict is PairVerdict.RATE_FELL:
        return (Notice("may_hide_leak", "A leak may still hide under outgassing that is larger than it."),)
    return ()
