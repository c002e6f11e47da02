"""A vacuum hold is judged while the technician looks at it."""

from __future__ import annotations

import numpy as np

from shopcool.engineering import properties
from shopcool.engineering.vacuum_hold import analyse_hold
from shopcool.engineering.vacuum_hold.fit import fit_rise
from tests.benchmarks import Result, best_seconds

LIMIT_S = 0.006
# One shape per answer: leak and moisture, moisture, a bend slower than the hold, slow outgassing.
SHAPES = {
    "leak and moisture": lambda t: 0.1 * t + 200 * (1 - np.exp(-t / 120)),
    "moisture": lambda t: 200 * (1 - np.exp(-t / 120)),
    "slow bend": lambda t: 200 * (1 - np.exp(-t / 600)),
    "slow outgassing": lambda t: 200 * np.sqrt(t / t[-1]),
}


def benchmarks() -> list[Result]:
    """Return the time of a fit and of a whole judgement, for twenty minutes read every half minute."""
    properties.warm_up()
    times = np.arange(0, 1201, 30.0)
    noise = np.random.default_rng(1).normal(0, 1, times.size)
    return [
        result
        for name, shape in SHAPES.items()
        for result in _measured(name, times, 50 + shape(times) + noise)
    ]


def _measured(name: str, times: np.ndarray, pressures: np.ndarray) -> list[Result]:
    listed = times.tolist(), pressures.tolist()
    fit = best_seconds(
        lambda: fit_rise(times, pressures, noise_pa=0.03, largest_transient_pa=2339.0), times=10, rounds=10
    )
    judged = best_seconds(
        lambda: analyse_hold(*listed, temperature_k=293.15, resolution_pa=0.1), times=10, rounds=10
    )
    return [
        {"name": f"vacuum fit of {name} over 6 ms", "ratio": fit / LIMIT_S, "limit": 1.0},
        {"name": f"vacuum judgement of {name} over 6 ms", "ratio": judged / LIMIT_S, "limit": 1.0},
    ]
