"""Fixtures of the job tests."""

from __future__ import annotations

import pytest

from tests.equipment.workshop import Workshop
from tests.jobs.bay import Bay


@pytest.fixture
def workshop(db: None) -> Workshop:
    """A workshop with a technician and an owner, both qualified."""
    return Workshop()


@pytest.fixture
def bay(workshop: Workshop) -> Bay:
    """An electric car's job, booked."""
    return Bay(workshop)
