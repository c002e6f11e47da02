"""When work on a piece is due: by the calendar or by use, whichever comes first. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from shopcool.core.months import add_months

#: 29 CFR 1910.137(c)(2)(viii), table I-5: tested before the first issue and every 6 months thereafter;
#: its footnote: not given out unless tested within the previous 12 months. ASTM F496 says the same
#: (secondary source).
GLOVE_MONTHS_IN_USE, GLOVE_MONTHS_IN_STORE = 6, 12
GLOVE_SOURCE = "29 CFR 1910.137 table I-5: 6 months after first issue, 12 months before it"
#: SAE J2788 section 9.1: indicated and actual charge within 15 g of the chosen amount [kg].
CHARGE_TOLERANCE_KG = 0.015


@dataclass(frozen=True)
class Interval:
    """How often: months and days by the calendar, hours run [h], refrigerant recovered [kg], jobs."""

    months: int | None = None
    days: int | None = None
    hours: float | None = None
    kg: float | None = None
    jobs: int | None = None


@dataclass(frozen=True)
class Used:
    """How much a piece was used since the work was last done: hours [h], refrigerant [kg], jobs."""

    hours: float = 0.0
    kg: float = 0.0
    jobs: int = 0


class Measure(StrEnum):
    """By what a limit is counted."""

    DAYS = "DAYS"
    HOURS = "HOURS"
    MASS = "MASS"
    JOBS = "JOBS"


@dataclass(frozen=True)
class Limit:
    """One limit of an interval with what has been used of it."""

    measure: Measure
    allowed: float
    used: float

    @property
    def remaining(self) -> float:
        """What is left, nothing at least."""
        return max(0.0, self.allowed - self.used)

    @property
    def share(self) -> float:
        """The part that has been used; 1 and more when the limit is reached."""
        return self.used / self.allowed


def due_on(interval: Interval, start: date) -> date | None:
    """Return the last day by the calendar, None when only use counts."""
    ends = []
    if interval.months is not None:
        ends.append(add_months(start, interval.months))
    if interval.days is not None:
        ends.append(start + timedelta(days=interval.days))
    return min(ends, default=None)


def gloves_due_on(tested_on: date, issued_on: date | None) -> date:
    """Return the last day on which insulating gloves may be used, or be given out while they lie in store.

    A test before the first issue holds for six months from the issue, if it was at most twelve months old
    then; each later test for six months.
    """
    in_store = add_months(tested_on, GLOVE_MONTHS_IN_STORE)
    if issued_on is None:
        return in_store
    if tested_on < issued_on:
        return add_months(issued_on, GLOVE_MONTHS_IN_USE) if issued_on <= in_store else in_store
    return add_months(tested_on, GLOVE_MONTHS_IN_USE)


def is_reached(interval: Interval, used: Used) -> bool:
    """Whether a limit by use is reached, so that the work is due whatever the day."""
    pairs = ((interval.hours, used.hours), (interval.kg, used.kg), (interval.jobs, used.jobs))
    return any(allowed is not None and so_far >= allowed for allowed, so_far in pairs)


def limits(
    interval: Interval, used: Used, *, start: date, end: date | None, today: date
) -> tuple[Limit, ...]:
    """Return every limit with what has been used of it, the nearest first.

    ``end`` is the last day by the calendar, as :func:`due_on` or :func:`gloves_due_on` gave it.
    """
    found = []
    if end is not None:
        found.append(Limit(Measure.DAYS, max(1, (end - start).days), max(0, (today - start).days)))
    if interval.hours is not None:
        found.append(Limit(Measure.HOURS, interval.hours, used.hours))
    if interval.kg is not None:
        found.append(Limit(Measure.MASS, interval.kg, used.kg))
    if interval.jobs is not None:
        found.append(Limit(Measure.JOBS, interval.jobs, used.jobs))
    return tuple(sorted(found, key=lambda limit: -limit.share))
