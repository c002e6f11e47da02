"""Addresses of pages that belong to other apps, by name only: the equipment knows none of their code."""

from __future__ import annotations

from django.urls import NoReverseMatch, reverse


def job_url(number: str) -> str:
    """Return the address of a job's page, empty where no jobs are kept or no job is named."""
    return _address("jobs:job", number) if number else ""


def vehicle_url(vehicle_id: int) -> str:
    """Return the address of a vehicle's page, empty where no page shows it."""
    return _address("vehicles:detail", vehicle_id)


def calendar_url() -> str:
    """Return the address of the page of one's own calendar, empty where no jobs are kept."""
    return _address("jobs:own_calendar")


def scan_url(public_id: str) -> str:
    """Return the short address in the code on a piece's label, without the host."""
    return _address("jobs:scan", public_id)


def _address(name: str, *arguments: object) -> str:
    try:
        return reverse(name, args=arguments)
    except NoReverseMatch:
        return ""
