"""Fixtures of the equipment tests."""

from __future__ import annotations

import pytest

from shopcool.core import clock
from tests.equipment.workshop import Workshop


@pytest.fixture
def workshop(db: None) -> Workshop:
    """A workshop with a technician and an owner, both qualified."""
    return Workshop()


@pytest.fixture
def workshop_clock(workshop: Workshop, monkeypatch: pytest.MonkeyPatch) -> Workshop:
    """The workshop, whose own clock the pages show the time by."""
    monkeypatch.setattr(clock, "now", lambda: workshop.now)
    return workshop
