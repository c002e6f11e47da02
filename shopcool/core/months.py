"""Sums with months, as calendars and papers count them. Pure."""

from __future__ import annotations

import calendar
from datetime import date


def add_months(start: date, months: int) -> date:
    """Return the same day some months later, the last of the month where it has no such day."""
    year, month = divmod(start.month - 1 + months, 12)
    last = calendar.monthrange(start.year + year, month + 1)[1]
    return date(start.year + year, month + 1, min(start.day, last))
