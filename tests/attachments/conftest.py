"""Fixtures of the attachment tests."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytest_django.fixtures import Settings

from shopcool.attachments.parents import Parent
from shopcool.core.actors import Actor
from shopcool.people.models import User
from shopcool.vehicles.attachments import vehicle_parent
from shopcool.vehicles.models import Vehicle


@pytest.fixture(autouse=True)
def file_folder(settings: Settings, tmp_path: Path) -> Path:
    """A folder for the files of one test."""
    settings.MEDIA_ROOT = tmp_path / "files"
    return tmp_path / "files" / "attachments"


@pytest.fixture
def car(db: None) -> Parent:
    """A vehicle to attach something to."""
    return vehicle_parent(Vehicle.objects.create(registration="TQ 100", make="Example", model="Test"))


@pytest.fixture
def anna(technician: User) -> Actor:
    """Who attaches."""
    return technician.as_actor()
