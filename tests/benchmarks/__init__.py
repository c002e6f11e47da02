"""What must stay quick, each measured against a limit: ``python -m tests.benchmarks``.

A benchmark module is called ``bench_<subject>.py`` and has a function ``benchmarks() -> list[Result]``. The
ratio of a result is what was measured over what it is measured against; above its limit it fails.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from typing import TypedDict

# Any subject may be measured alone, and most of them need the workshop's settings.
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shopcool.settings")


class Result(TypedDict):
    """One measurement: its name, the ratio measured, and the largest ratio allowed."""

    name: str
    ratio: float
    limit: float


def best_seconds(action: Callable[[], object], *, times: int, rounds: int) -> float:
    """Return the shortest mean processor time [s] of an action: other work on the machine only ever adds."""
    return min(_mean_seconds(action, times) for _ in range(rounds))


def best_ratio(
    action: Callable[[], object], against: Callable[[], object], *, times: int, rounds: int
) -> float:
    """Return the duration of an action over that of another, in turns, so that both meet the same load."""
    durations = [(_mean_seconds(action, times), _mean_seconds(against, times)) for _ in range(rounds)]
    return min(first for first, _ in durations) / min(second for _, second in durations)


def _mean_seconds(action: Callable[[], object], times: int) -> float:
    started = time.process_time()
    for _ in range(times):
        action()
    return (time.process_time() - started) / times
