"""When the day's reminders are written: days and hours of the workshop, from moments in UTC. Pure."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

#: A run that is this late is not called missing yet: beat looks every few minutes, workers may be busy.
GRACE = timedelta(hours=1)


def local_day(now: datetime, zone: str) -> date:
    """Return the calendar day at the workshop."""
    return now.astimezone(ZoneInfo(zone)).date()


def day_to_run(now: datetime, zone: str, at: time) -> date | None:
    """Return the day whose reminders may be written now, None before the reminder time of the workshop.

    An hour that a clock change skips counts as passed with the first minute after it; an hour that comes
    twice counts from its first coming. The day stays the same one, and a day is written only once.
    """
    local = now.astimezone(ZoneInfo(zone))
    return local.date() if local.time() >= at else None


def day_expected(now: datetime, zone: str, at: time) -> date:
    """Return the day whose reminders must have been written by now."""
    local = (now - GRACE).astimezone(ZoneInfo(zone))
    return local.date() if local.time() >= at else local.date() - timedelta(days=1)


def is_missing(last_day: date | None, expected: date) -> bool:
    """Whether a run should have happened that did not."""
    return last_day is None or last_day < expected
