"""Fixtures of the equipment tests."""

from __future__ import annotations

import pytest

from tests.equipment.workshop import Workshop


@pytest.fixture
def workshop(db: None) -> Workshop:
    """A workshop with a technician and an owner, both qualified."""
    return Workshop()
