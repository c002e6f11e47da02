"""The units that a person last used, field by field, kept for the length of the session."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest

_KEY = "units"


def units_of(request: HttpRequest) -> dict[str, str]:
    """Return the last-used unit of each field."""
    kept = request.session.get(_KEY, {})
    return dict(kept)


def remember_units(request: HttpRequest, values: Mapping[str, Any]) -> None:
    """Keep the units of recorded values for the next form."""
    used = {name: str(value["unit"]) for name, value in values.items() if _is_reading(value)}
    kept = units_of(request)
    if used.items() - kept.items():
        request.session[_KEY] = {**kept, **used}


def _is_reading(value: object) -> bool:
    return isinstance(value, dict) and "unit" in value and "si" in value
