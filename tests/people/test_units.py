"""The units a person prefers: their own choice, one quantity at a time."""

from __future__ import annotations

import re
from datetime import datetime

import pytest
from django.urls import reverse

from shopcool.core.actors import PreferredUnits
from shopcool.core.errors import NotAllowed
from shopcool.people.models import User
from shopcool.people.services.units import UnitUnknown, units_choose
from tests.people_fixtures import SignedIn

AMERICAN = PreferredUnits("psi", "°F", "oz", "US fl oz")


class TestUnitsChoose:
    def test_follow_the_workshop_until_somebody_chooses(self, technician: User) -> None:
        assert technician.as_actor().units == PreferredUnits()

    def test_go_with_the_person(self, technician: User, now: datetime) -> None:
        chosen = PreferredUnits(pressure="psi")

        units_choose(actor=technician.as_actor(), user_id=technician.pk, units=chosen, now=now)

        assert User.objects.get(pk=technician.pk).as_actor().units == chosen

    def test_are_nobody_else_s_business(self, owner: User, technician: User, now: datetime) -> None:
        with pytest.raises(NotAllowed, match="You may not do this"):
            units_choose(actor=owner.as_actor(), user_id=technician.pk, units=AMERICAN, now=now)

    def test_are_units_that_the_workshop_knows(self, technician: User, now: datetime) -> None:
        units = PreferredUnits(pressure="stone")

        with pytest.raises(UnitUnknown, match="“stone” is not known here"):
            units_choose(actor=technician.as_actor(), user_id=technician.pk, units=units, now=now)

    def test_opened_and_saved_twenty_times_stay_as_they_are(self, technician: User, now: datetime) -> None:
        units_choose(actor=technician.as_actor(), user_id=technician.pk, units=AMERICAN, now=now)

        for _time in range(20):
            present = User.objects.get(pk=technician.pk).as_actor()
            units_choose(actor=present, user_id=technician.pk, units=present.units, now=now)

        assert User.objects.get(pk=technician.pk).as_actor().units == AMERICAN


class TestPage:
    def test_offers_what_is_chosen_and_keeps_it(self, technician: User, signed_in: SignedIn) -> None:
        client = signed_in(technician)
        raw = {"pressure": "psi", "temperature": "°F", "mass": "", "volume": ""}

        answered = client.post(reverse("people:own_units"), raw)
        page = client.get(reverse("people:own_units")).content.decode()

        assert answered.status_code == 302
        assert re.search(r'name="pressure" value="psi"[^>]* checked', page)
        assert re.search(r'name="mass" value=""[^>]* checked', page)
        assert User.objects.get(pk=technician.pk).as_actor().units == PreferredUnits("psi", "°F")

    def test_refuses_a_unit_of_its_own_making(self, technician: User, signed_in: SignedIn) -> None:
        answered = signed_in(technician).post(reverse("people:own_units"), {"pressure": "stone"})

        assert answered.status_code == 422
