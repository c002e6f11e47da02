"""The only place that reads the clock; doors pass the time on as an argument."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone


def now() -> datetime:
    """Return the present moment, aware, in UTC."""
    return timezone.now()
