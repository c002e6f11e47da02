"""The units that a person last used in each kind of step, kept for the length of the session."""

from __future__ import annotations

from dataclasses import astuple

from django.http import HttpRequest

from jobs.choices import StepKind
from jobs.models import StepRecord
from jobs.pages.steps import LastUnits
from shopcool.people.requests import actor_of


def units_of(request: HttpRequest) -> LastUnits:
    """Return the last-used units of each kind of step: what is weighed in one may be poured in another."""
    kept = request.session.get(_key(request), {})
    return {StepKind(kind): dict(units) for kind, units in kept.items() if kind in StepKind.values}


def remember_units(request: HttpRequest, record: StepRecord) -> None:
    """Keep the units of a record for the next form of its kind."""
    used = {name: str(value["unit"]) for name, value in record.values.items() if _is_reading(value)}
    kept = units_of(request)
    before = kept.get(StepKind(record.kind), {})
    if used.items() - before.items():
        request.session[_key(request)] = {**kept, record.kind: {**before, **used}}


def _key(request: HttpRequest) -> str:
    """Return where last-used units are kept; whoever chooses other units starts afresh."""
    return "-".join(("units", *astuple(actor_of(request).units)))


def _is_reading(value: object) -> bool:
    return isinstance(value, dict) and "unit" in value and "si" in value
