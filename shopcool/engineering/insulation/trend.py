"""Insulation over visits: the yearly factor with its interval, over-range readings taken as limits.

A straight line of the logarithm over time. A reading over range says only "more than", so the line is
fitted by maximum likelihood with censored values (expectation-maximisation): a limit below the line costs
nothing, a limit above it pulls the line up.

Reference: J. Tobin, "Estimation of relationships for limited dependent variables", Econometrica 26 (1958)
24-36; A. P. Dempster, N. M. Laird and D. B. Rubin, J. R. Stat. Soc. B 39 (1977) 1-38, for the iteration.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering.errors import Refusal
from shopcool.engineering.insulation.tester import check_resistance
from shopcool.engineering.limits import within
from shopcool.engineering.results import Notice

METHOD_VERSION = "insulation-trend 1"
SOURCE = "Censored straight line of the logarithm (Tobin 1958); error floor from IEC 61557-2:2019 6.2, +-30 %"
FEWEST_VISITS = 3
MOST_VISITS = 1000
SHORTEST_SPAN_YEARS = 28 / 365.25
LONGEST_YEARS = 100.0
#: Standard deviation of log10 of a reading when the tester may be wrong by 30 % (k = 2).
FLOOR = math.log10(1.3) / 2
KNOWN_QUANTILE = 1.959964
#: Powers of ten beyond this mean "without bound" and are cut, so that no result overflows.
LARGEST_POWER = 300.0


@dataclass(frozen=True)
class Visit:
    """One reading at the reference temperature: time [year], resistance [ohm], over range or not."""

    years: float
    resistance_ohm: float
    over_range: bool = False


class Verdict(StrEnum):
    """Where the insulation is going."""

    FALLING_TO_LIMIT = "falling_to_limit"
    FALLING = "falling"
    STEADY = "steady"
    RISING = "rising"
    CANNOT_TELL = "cannot_tell"


SENTENCES = {
    Verdict.FALLING_TO_LIMIT: "Falls for certain, and the line meets the limit before the next visit.",
    Verdict.FALLING: "Falls for certain, but stays above the limit until the next visit.",
    Verdict.STEADY: "No change beyond what the readings scatter.",
    Verdict.RISING: "Rises: conditions may differ between visits.",
    Verdict.CANNOT_TELL: "Mostly over range: limits alone give no trend.",
}
LIKE_CONDITIONS = Notice("like_conditions", "Only readings at like temperature and like state compare.")


@dataclass(frozen=True)
class Trend:
    """The yearly factor [-] with its 95 % interval, and the value expected at the next visit [ohm].

    The four numbers are None when only limits are on file.
    """

    visits: tuple[Visit, ...]
    next_visit_years: float
    limit_ohm: float | None
    yearly_factor: float | None
    yearly_factor_low: float | None
    yearly_factor_high: float | None
    projected_ohm: float | None
    verdict: Verdict
    sentence: str
    warnings: tuple[Notice, ...] = (LIKE_CONDITIONS,)
    source: str = SOURCE
    method_version: str = METHOD_VERSION


def trend(visits: Sequence[Visit], *, next_visit_years: float, limit_ohm: float | None = None) -> Trend:
    """Return where the insulation of a component is going.

    Parameters:
        visits: readings at the reference temperature, at least three over four weeks or more.
        next_visit_years: time of the next visit [year], on the same clock as the visits.
        limit_ohm: limit of the maker [ohm]; None when none is on file.

    Returns: yearly factor with interval [-], expected value at the next visit [ohm], verdict.

    Raises ``few``, ``many``, ``span``, ``not_a_number``, ``years``, ``resistance``.

    Source: Tobin 1958 for censored values.
    """
    _check(visits, next_visit_years, limit_ohm)
    if len({visit.years for visit in visits if not visit.over_range}) < 2:
        return Trend(
            visits=tuple(visits),
            next_visit_years=next_visit_years,
            limit_ohm=limit_ohm,
            yearly_factor=None,
            yearly_factor_low=None,
            yearly_factor_high=None,
            projected_ohm=None,
            verdict=Verdict.CANNOT_TELL,
            sentence=SENTENCES[Verdict.CANNOT_TELL],
        )
    line = _fit(visits)
    low, high = line.slope - line.half_width, line.slope + line.half_width
    projected = line.at(next_visit_years)
    verdict = _verdict(low, high, projected, limit_ohm)
    return Trend(
        visits=tuple(visits),
        next_visit_years=next_visit_years,
        limit_ohm=limit_ohm,
        yearly_factor=_power(line.slope),
        yearly_factor_low=_power(low),
        yearly_factor_high=_power(high),
        projected_ohm=_power(projected),
        verdict=verdict,
        sentence=SENTENCES[verdict],
    )


def _verdict(low: float, high: float, projected: float, limit_ohm: float | None) -> Verdict:
    if high < 0:
        meets = limit_ohm is not None and projected <= math.log10(limit_ohm)
        return Verdict.FALLING_TO_LIMIT if meets else Verdict.FALLING
    return Verdict.RISING if low > 0 else Verdict.STEADY


def _power(exponent: float) -> float:
    return float(10.0 ** min(max(exponent, -LARGEST_POWER), LARGEST_POWER))


@dataclass(frozen=True)
class _Line:
    """A line of log10 ohm over years, with the half width of the 95 % interval of its slope."""

    middle: float
    level: float
    slope: float
    half_width: float

    def at(self, years: float) -> float:
        return self.level + self.slope * (years - self.middle)


def _fit(visits: Sequence[Visit]) -> _Line:
    times = [visit.years for visit in visits]
    shown = [math.log10(visit.resistance_ohm) for visit in visits]
    scatter, line = FLOOR, _least_squares(times, shown)
    for _ in range(500):
        filled = [_expected(v, y, line.at(v.years), scatter) for v, y in zip(visits, shown, strict=True)]
        previous, line = line, _least_squares(times, filled)
        scatter = max(FLOOR, _scatter(visits, shown, line))
        if abs(line.slope - previous.slope) + abs(line.level - previous.level) < 1e-10:
            break
    quantile = _quantile(visits, scatter)
    half_width = quantile * scatter * math.sqrt(_slope_variance(visits, shown, line, scatter))
    return _Line(line.middle, line.level, line.slope, half_width)


def _least_squares(times: Sequence[float], values: Sequence[float]) -> _Line:
    middle, level = math.fsum(times) / len(times), math.fsum(values) / len(values)
    spread = math.fsum((time - middle) ** 2 for time in times)
    slope = math.fsum((t - middle) * (v - level) for t, v in zip(times, values, strict=True)) / spread
    return _Line(middle, level, slope, 0.0)


def _expected(visit: Visit, shown: float, predicted: float, scatter: float) -> float:
    """Return the reading, or what a reading over range is expected to be above its limit."""
    if not visit.over_range:
        return shown
    return predicted + scatter * _hazard((shown - predicted) / scatter)


def _hazard(distance: float) -> float:
    """Return density over upper tail of the normal distribution, by its expansion where the tail vanishes."""
    if distance > 25:
        return distance + 1 / distance
    density = math.exp(-0.5 * distance * distance) / math.sqrt(2 * math.pi)
    return density / (0.5 * math.erfc(distance / math.sqrt(2)))


def _values(visits: Sequence[Visit]) -> int:
    return sum(not visit.over_range for visit in visits)


def _scatter(visits: Sequence[Visit], shown: Sequence[float], line: _Line) -> float:
    """Return the standard deviation of the readings that are values about the line."""
    squares = math.fsum(
        (value - line.at(visit.years)) ** 2
        for visit, value in zip(visits, shown, strict=True)
        if not visit.over_range
    )
    return math.sqrt(squares / max(_values(visits) - 2, 1))


def _quantile(visits: Sequence[Visit], scatter: float) -> float:
    freedom = _values(visits) - 2
    if scatter <= FLOOR or freedom < 1:
        return KNOWN_QUANTILE
    from scipy.special import stdtrit  # a long import that only this interval needs

    return float(stdtrit(freedom, 0.975))


def _slope_variance(visits: Sequence[Visit], shown: Sequence[float], line: _Line, scatter: float) -> float:
    """Return the variance of the slope in units of the scatter squared, from the expected information."""
    weights = [
        _weight((value - line.at(visit.years)) / scatter) if visit.over_range else 1.0
        for visit, value in zip(visits, shown, strict=True)
    ]
    total = math.fsum(weights)
    middle = math.fsum(w * v.years for w, v in zip(weights, visits, strict=True)) / total
    return 1 / math.fsum(w * (v.years - middle) ** 2 for w, v in zip(weights, visits, strict=True))


def _weight(distance: float) -> float:
    """Return how much a limit at this distance above the line weighs against a value, 0 to 1."""
    hazard = _hazard(distance)
    return min(max(hazard * (hazard - distance), 0.0), 1.0)


def _check(visits: Sequence[Visit], next_visit_years: float, limit_ohm: float | None) -> None:
    if len(visits) < FEWEST_VISITS:
        raise Refusal("few", "A trend needs at least three visits.", field="visits")
    if len(visits) > MOST_VISITS:
        raise Refusal("many", f"More than {MOST_VISITS} visits.", field="visits")
    for visit in visits:
        check_resistance(visit.resistance_ohm, "visits")
        _check_years(visit.years, "visits")
    _check_years(next_visit_years, "next_visit_years")
    if limit_ohm is not None:
        check_resistance(limit_ohm, "limit_ohm")
    values = [visit.years for visit in visits if not visit.over_range]
    if max(v.years for v in visits) - min(v.years for v in visits) < SHORTEST_SPAN_YEARS or (
        len(set(values)) > 1 and max(values) - min(values) < SHORTEST_SPAN_YEARS
    ):
        raise Refusal("span", "The visits span less than four weeks: no yearly trend.", field="visits")


def _check_years(years: float, field: str) -> None:
    within(
        years,
        -LONGEST_YEARS,
        LONGEST_YEARS,
        name="The time of a visit",
        field=field,
        code="years",
        message="The time of a visit must be within 100 years.",
    )
