"""The pages of the equipment room that stand side by side."""

from __future__ import annotations

import re
from typing import Any

import pytest

from equipment.navigation import equipment_room
from shopcool.people.models import User
from tests.equipment.page_text import between, words_of
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn

ROOM = ("/equipment/", "/equipment/due/", "/equipment/oil/", "/equipment/labels/", "/equipment/incidents/")


def row_of(response: Any) -> str:
    return between(response.content.decode(), "tabs--room", "</nav>")


def places_for(user: User, address: str, rf: Any) -> list[str]:
    request = rf.get(address)
    request.user = user
    return [place.label for place in equipment_room(request)["equipment_room"]]  # type: ignore[attr-defined]


@pytest.mark.parametrize("address", ROOM)
def test_each_page_shows_the_row_and_marks_itself(
    address: str, workshop_clock: Workshop, technician: User, signed_in: SignedIn
) -> None:
    row = row_of(signed_in(technician).get(address))

    assert re.findall(r'<a href="([^"]+)" aria-current="page">', row) == [address]
    assert row.count("<a ") == len(ROOM)


def test_the_row_has_what_a_person_may_open(
    technician: User, front_desk: User, owner: User, outsider: User, rf: Any
) -> None:
    desk = ["Readiness", "What is due", "Oil shelf"]

    assert places_for(front_desk, "/equipment/", rf) == desk
    assert places_for(technician, "/equipment/", rf) == [*desk, "Labels", "Incidents"]
    assert places_for(owner, "/equipment/", rf) == [*desk, "Labels", "Incidents", "Log"]
    assert places_for(outsider, "/equipment/", rf) == []


def test_open_incidents_are_counted_in_the_row(
    workshop_clock: Workshop, owner: User, signed_in: SignedIn
) -> None:
    workshop = workshop_clock
    assert "<span>" not in row_of(signed_in(owner).get("/equipment/"))
    workshop.connect(
        workshop.circuit(), workshop.piece("H-1"), job="2026-0003",
        actor=workshop.owner, override_reason="Sold as scrap, told the customer",
    )  # fmt: skip

    assert "Incidents 1" in words_of(signed_in(owner).get("/equipment/"))
