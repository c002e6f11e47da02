"""Bounded variable projection: which steady rise rates agree with the readings of a vacuum hold.

Model: ``p(t) = p0 + r t + D (1 - exp(-t / tau))`` with ``r >= 0`` and ``0 <= D <= D_max``. For one ``tau``
the sum of squares is a quadratic in ``(p0, r, D)``, so its minimum and the range of ``r`` below any threshold
have closed forms. Only ``tau`` is searched, on a logarithmic grid that is refined around the best point and
around both ends of the interval: no start values, no local minima.

Reference: G. H. Golub and V. Pereyra, "The differentiation of pseudo-inverses and nonlinear least squares
problems whose variables separate", SIAM J. Numer. Anal. 10 (1973) 413-432; profile interval as in D. M. Bates
and D. G. Watts, Nonlinear Regression Analysis and Its Applications (1988), chapter 6.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: Slowest transient that is told apart from a leak, in lengths of the hold. A slower one is a straight line
#: to the eye and is found by a second hold only.
SLOWEST_TRANSIENT = 2.0
COARSE_POINTS = 36
REFINED_POINTS = 6
REFINEMENTS = 3
_SHARES = np.linspace(0.0, 1.0, REFINED_POINTS + 1)[1:]
PARAMETERS = 4
#: Residual correlation above this says nothing more about the spread.
LARGEST_CORRELATION = 0.9
#: Degrees of freedom at which the F distribution is the chi square of a known scatter.
PRACTICALLY_KNOWN = 1e6


@dataclass(frozen=True)
class Curve:
    """One curve of the model: start [Pa], steady rise [Pa/s], transient [Pa] and its time constant [s]."""

    start_pa: float
    rate_pa_s: float
    transient_pa: float
    transient_time_s: float

    def pressure_pa(self, time_s: float) -> float:
        """Return the pressure [Pa] of the curve ``time_s`` [s] after the first reading."""
        settled = -math.expm1(-time_s / self.transient_time_s)
        return self.start_pa + self.rate_pa_s * time_s + self.transient_pa * settled


@dataclass(frozen=True)
class Fit:
    """The best curve, the curves with the lowest and highest steady rise that still agree, and the scatter.

    ``scatter_pa`` is the standard deviation [Pa] that the interval rests on. ``line_fits`` says that a
    straight line agrees as well as the full model, ``flat_fits`` that a constant does.
    """

    best: Curve
    lowest: Curve
    highest: Curve
    scatter_pa: float
    correlation: float
    line_fits: bool
    flat_fits: bool


class _Moments:
    """Centred sums of the readings, with time in lengths of the hold."""

    def __init__(self, times: Array, pressures: Array) -> None:
        self.duration = float(times[-1] - times[0])
        self.time = (times - times[0]) / self.duration
        self.centred_time = self.time - self.time.mean()
        self.mean = float(pressures.mean())
        self.rise = pressures - self.mean
        self.tt = float(self.centred_time @ self.centred_time)
        self.ty = float(self.centred_time @ self.rise)
        self.yy = float(self.rise @ self.rise)
        self.shortest_transient = 0.3 / (len(times) - 1)

    def squares_of_line(self) -> float:
        """Return the sum of squares [Pa²] of the best line that does not fall."""
        return self.yy - max(self.ty, 0.0) ** 2 / self.tt

    def shape(self, tau: float) -> Array:
        """Return the course of a transient of one pascal at the readings."""
        result: Array = -np.expm1(-self.time / tau)
        return result


class _Transients:
    """The same sums with the transient of each candidate ``tau`` (in lengths of the hold)."""

    def __init__(self, moments: _Moments, taus: Array, largest: float) -> None:
        shape = -np.expm1(-moments.time[None, :] / taus[:, None])
        shape -= shape.mean(axis=1, keepdims=True)
        self.moments, self.taus, self.largest = moments, taus, largest
        self.gg = np.einsum("ij,ij->i", shape, shape)
        self.gt = shape @ moments.centred_time
        self.gy = shape @ moments.rise
        self.free = (  # the quadratic in the rate when the transient is inside its bounds
            moments.yy - self.gy**2 / self.gg,
            moments.ty - self.gy * self.gt / self.gg,
            moments.tt - self.gt**2 / self.gg,
        )
        none = np.zeros_like(taus)
        self.empty = (none + moments.yy, none + moments.ty, none + moments.tt)
        self.full = (
            moments.yy - 2 * largest * self.gy + largest**2 * self.gg,
            moments.ty - largest * self.gt,
            none + moments.tt,
        )

    def transient(self, rate: Array) -> Array:
        """Return the best transient [Pa] for each tau at the given rate [Pa per hold]."""
        result: Array = np.clip((self.gy - rate * self.gt) / self.gg, 0.0, self.largest)
        return result

    def squares(self, rate: Array) -> Array:
        """Return the sum of squares [Pa²] for each tau at the given rate [Pa per hold]."""
        m, size = self.moments, self.transient(rate)
        fixed = m.yy - 2 * rate * m.ty + rate * rate * m.tt
        result: Array = fixed + size * size * self.gg - 2 * size * (self.gy - rate * self.gt)
        return result

    def best(self) -> tuple[Array, Array]:
        """Return the least sum of squares [Pa²] and its rate [Pa per hold] for each tau."""
        tops = [half_linear / quadratic for _, half_linear, quadratic in (self.free, self.empty, self.full)]
        rates = np.maximum(np.array([*tops, np.zeros_like(self.taus)]), 0.0)
        squares = self.squares(rates)
        chosen = squares.argmin(axis=0), np.arange(self.taus.size)
        return squares[chosen], rates[chosen]

    def rate_range(self, threshold: float) -> tuple[Array, Array]:
        """Return the lowest and highest rate [Pa per hold] below the threshold for each tau (inf where none).

        A crossing of the wrong piece of the quadratic is either above the threshold or inside the range, so
        the outermost crossings that hold are the ends.
        """
        crossings = [_crossings(piece, threshold) for piece in (self.free, self.empty, self.full)]
        ends = np.maximum(np.concatenate([*crossings, np.zeros((1, self.taus.size))]), 0.0)
        inside = self.squares(ends) <= threshold * (1 + 1e-9) + 1e-12 * self.moments.yy
        return np.where(inside, ends, np.inf).min(axis=0), np.where(inside, ends, -np.inf).max(axis=0)


def _crossings(piece: tuple[Array, Array, Array], threshold: float) -> Array:
    """Return both crossings of ``a - 2 b r + c r²`` with the threshold, zero where there is none."""
    constant, half_linear, quadratic = piece
    middle = half_linear / quadratic
    spread = middle**2 - (constant - threshold) / quadratic
    half = np.sqrt(np.maximum(spread, 0.0))
    return np.where(spread >= 0, np.array([middle - half, middle + half]), 0.0)


def _least(score: Callable[[Array], Array], logs: Array) -> tuple[float, float]:
    """Return the logarithm of tau with the least score, and that score, refining the grid around it.

    ``logs`` rises and has no value twice; the best point so far stays on every finer grid.
    """
    scores = score(np.exp(logs))
    for _ in range(REFINEMENTS):
        index = int(scores.argmin())
        logs = _between(logs[max(index - 1, 0)], logs[index], logs[min(index + 1, logs.size - 1)])
        scores = score(np.exp(logs))
    index = int(scores.argmin())
    return float(logs[index]), float(scores[index])


def _between(low: float, best: float, high: float) -> Array:
    """Return a rising grid over the neighbours of the best point that holds it exactly once."""
    below = best - (best - low) * _SHARES[::-1] if low < best else _SHARES[:0]
    above = best + (high - best) * _SHARES if high > best else _SHARES[:0]
    return np.concatenate([below, [best], above])


class _Profile:
    """The best point of a hold and what may be said around it."""

    def __init__(self, times: Array, pressures: Array, noise_pa: float, largest_pa: float) -> None:
        self.moments = _Moments(times, pressures)
        self.largest = largest_pa
        shortest = math.log(self.moments.shortest_transient)
        coarse = np.linspace(shortest, math.log(SLOWEST_TRANSIENT), COARSE_POINTS)
        self.log_tau, least = _least(lambda taus: self.at(taus).best()[0], coarse)
        best = self.at(np.exp([self.log_tau]))
        self.rate = float(best.best()[1][0])
        self.correlation = _lag_one(_residuals(best, self.rate))
        self.spread = _Spread.of(least, len(times) - PARAMETERS, noise_pa, self.correlation)
        self.grid = np.unique(np.append(coarse, self.log_tau))

    def at(self, taus: Array) -> _Transients:
        return _Transients(self.moments, taus, self.largest)

    def curve(self, log_tau: float, rate: float) -> Curve:
        return _curve(self.at(np.exp([log_tau])), rate)


def fit_rise(times: Array, pressures: Array, *, noise_pa: float, largest_transient_pa: float) -> Fit:
    """Return the fit of a hold and the 95 % interval of its steady rise from the profile.

    Parameters:
        times: rising times [s].
        pressures: absolute pressures [Pa].
        noise_pa: least standard deviation that a reading of this gauge has [Pa].
        largest_transient_pa: largest rise that may level off [Pa].

    The interval uses the scatter of the readings (F) or ``noise_pa`` (chi square) where that is larger, and
    is widened by the correlation of neighbouring residuals.
    """
    profile = _Profile(times, pressures, noise_pa, largest_transient_pa)
    threshold = profile.spread.threshold(1)
    tau_low, low = _least(lambda taus: profile.at(taus).rate_range(threshold)[0], profile.grid)
    tau_high, high = _least(lambda taus: -profile.at(taus).rate_range(threshold)[1], profile.grid)
    return Fit(
        best=profile.curve(profile.log_tau, profile.rate),
        lowest=profile.curve(tau_low, low),
        highest=profile.curve(tau_high, -high),
        scatter_pa=profile.spread.scatter_pa,
        correlation=profile.correlation,
        line_fits=profile.moments.squares_of_line() <= profile.spread.threshold(2),
        flat_fits=profile.moments.yy <= profile.spread.threshold(3),
    )


def rises_faster(
    times: Array, pressures: Array, rate_pa_s: float, *, noise_pa: float, largest_transient_pa: float
) -> bool:
    """Return whether the readings disagree at 99 % with every steady rise up to ``rate_pa_s`` [Pa/s].

    Noise of one reading and largest transient in [Pa].
    """
    profile = _Profile(times, pressures, noise_pa, largest_transient_pa)
    rate = rate_pa_s * profile.moments.duration
    if profile.rate <= rate:
        return False
    squares = _least(lambda taus: profile.at(taus).squares(np.full_like(taus, rate)), profile.grid)[1]
    return squares > profile.spread.threshold(1, confidence=0.99)


@dataclass(frozen=True)
class _Spread:
    """What the interval rests on: least sum of squares [Pa²], scatter [Pa], its freedom, and the widening."""

    least: float
    scatter_pa: float
    freedom: float
    widening: float

    @classmethod
    def of(cls, least: float, freedom: float, noise_pa: float, correlation: float) -> _Spread:
        scatter = math.sqrt(max(least, 0.0) / freedom)
        if scatter < noise_pa:
            scatter, freedom = noise_pa, PRACTICALLY_KNOWN
        return cls(least, scatter, freedom, (1 + correlation) / (1 - correlation))

    def threshold(self, parameters: int, confidence: float = 0.95) -> float:
        """Return the sum of squares [Pa²] up to which fixing this many parameters agrees."""
        from scipy.special import fdtri  # a long import that no other computation needs

        quantile = float(fdtri(parameters, self.freedom, confidence))
        return self.least + parameters * quantile * self.scatter_pa**2 * self.widening


def _residuals(transients: _Transients, rate: float) -> Array:
    m, size = transients.moments, float(transients.transient(np.array([rate]))[0])
    shape = m.shape(float(transients.taus[0]))
    result: Array = m.rise - rate * m.centred_time - size * (shape - shape.mean())
    return result


def _curve(transients: _Transients, rate: float) -> Curve:
    """Return the curve of one tau and one rate [Pa per hold] in pascals and seconds."""
    m, tau = transients.moments, float(transients.taus[0])
    size = float(transients.transient(np.array([rate]))[0])
    start = m.mean - rate * float(m.time.mean()) - size * float(m.shape(tau).mean())
    return Curve(start, rate / m.duration, size, tau * m.duration)


def _lag_one(residuals: Array) -> float:
    """Return the correlation of neighbouring residuals, at least zero."""
    total = float(residuals @ residuals)
    if total <= 0:
        return 0.0
    return min(max(float(residuals[1:] @ residuals[:-1]) / total, 0.0), LARGEST_CORRELATION)
