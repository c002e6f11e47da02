"""Fixtures of the job tests."""

from __future__ import annotations

import pytest

from shopcool.core import clock
from shopcool.core.actors import Role
from shopcool.people.models import User
from tests.equipment.workshop import Workshop, make_user
from tests.jobs.bay import Bay
from tests.jobs.browser import Tablet


@pytest.fixture
def workshop(db: None) -> Workshop:
    """A workshop with a technician and an owner, both qualified."""
    return Workshop()


@pytest.fixture
def bay(workshop: Workshop) -> Bay:
    """An electric car's job, booked."""
    return Bay(workshop)


@pytest.fixture
def bay_clock(bay: Bay, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the pages read the clock of the bay, which goes on a little at every look."""
    monkeypatch.setattr(clock, "now", lambda: bay.workshop.later(0.1))


@pytest.fixture
def technician_tablet(bay: Bay, bay_clock: None) -> Tablet:
    """The tablet of a qualified technician."""
    return Tablet(User.objects.get(username="tilda"))


@pytest.fixture
def owner_tablet(bay: Bay, bay_clock: None) -> Tablet:
    """The tablet of the owner, who also works on vehicles."""
    return Tablet(User.objects.get(username="orla"))


@pytest.fixture
def desk_tablet(bay: Bay, bay_clock: None) -> Tablet:
    """The tablet at the front desk."""
    return Tablet(make_user("fria", Role.FRONT_DESK, qualified=False))


@pytest.fixture
def outsider_tablet(bay: Bay, bay_clock: None) -> Tablet:
    """The tablet of somebody with a password and no role."""
    return Tablet(make_user("otto", qualified=False))
