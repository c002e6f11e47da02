"""What happens to a lot or in an injector, told by another program: the same rules as the pages."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

import pytest
from django.urls import reverse

from equipment.incidents import Incident
from equipment.oil.models import MoveKind, OilLot, OilMove, OilTest
from equipment.oil.stores import store_of_injector, store_of_lot
from shopcool.people.models import User
from tests.api.test_reading import client_of
from tests.equipment.workshop import Workshop

VIAL = {"resistance": "3 MΩ", "mixed": True, "nominal_voltage": 500, "other_lot": "> 2.2 GΩ"}
#: Every door with a body that it would take.
DOORS: list[tuple[str, str, str, dict[str, Any]]] = [
    ("post", "oil_lot_open", "L-1", {}),
    ("post", "oil_lot_measure", "L-1", {"amount": "200 ml"}),
    ("post", "oil_lot_waste", "L-1", {"amount": "5 ml", "note": "spilt"}),
    ("post", "oil_lot_vial_test", "L-1", VIAL),
    ("put", "oil_lot_level", "L-1", {"low": "100 ml"}),
    ("post", "oil_lot_bad", "L-1", {"note": "milky in the glass"}),
    ("post", "injector_measure", "I-1", {"amount": "50 ml"}),
    ("post", "injector_waste", "I-1", {"note": "too old"}),
]


def call(user: User | None, method: str, name: str, code: str, body: dict[str, Any]) -> Any:
    """Return what a door answers to a program with this person's token."""
    return getattr(client_of(user), method)(reverse(f"api:{name}", args=[code]), body, format="json")


def sent_twice(user: User, name: str, code: str, body: dict[str, Any]) -> Any:
    """Return the answer to a body that was sent once more because the first answer was lost."""
    body = body | {"submission_key": str(uuid4())}
    first, second = (call(user, "post", name, code, body) for _ in range(2))
    assert first.status_code in {200, 201}, first.json()
    assert first.json() == second.json()
    return second.json()


def test_are_closed_to_strangers_outsiders_and_colleagues_without_the_right(
    workshop_clock: Workshop, outsider: User, front_desk: User, technician: User
) -> None:
    workshop_clock.fill(workshop_clock.injector(), workshop_clock.lot("L-2"))
    workshop_clock.lot()
    moves = OilMove.objects.count()

    for door in DOORS:
        found = [call(user, *door).status_code for user in (None, outsider, front_desk)]
        assert found == [401, 404, 403], door[1]
    assert (OilMove.objects.count(), OilTest.objects.count()) == (moves, 0)
    assert not OilLot.objects.exclude(bad_at=None, low_m3=None).exists()

    assert {call(technician, *door).status_code for door in DOORS} == {200, 201}


def test_measuring_books_the_difference_once(workshop_clock: Workshop, technician: User) -> None:
    lot = workshop_clock.lot()

    # 192 g at 0.96 g/ml are 200 ml of the 250 ml in the books.
    answer = sent_twice(technician, "oil_lot_measure", "L-1", {"weighed": {"value": "192", "unit": "g"}})
    agreed = call(technician, "post", "oil_lot_measure", "L-1", {"amount": 200}).json()

    assert answer["left_m3"] == pytest.approx(200e-6)
    assert float(answer["booked"]["volume_m3"]) == pytest.approx(50e-6)
    assert agreed["booked"] is None
    assert float(store_of_lot(lot).volume_m3) == pytest.approx(200e-6)


def test_measuring_wants_a_volume_or_a_mass(workshop_clock: Workshop, technician: User) -> None:
    workshop_clock.lot()

    for body in ({}, {"amount": 5, "weighed": 5}):
        answer = call(technician, "post", "oil_lot_measure", "L-1", body)
        assert answer.status_code == 400
        assert "one of them" in answer.json()["fields"]["amount"][0]


def test_waste_leaves_the_injector_once(workshop_clock: Workshop, technician: User) -> None:
    injector = workshop_clock.injector()
    workshop_clock.fill(injector, workshop_clock.lot(), "60")

    sent_twice(technician, "injector_waste", "I-1", {"amount": "20 ml", "note": "dropped"})
    too_much = call(technician, "post", "injector_waste", "I-1", {"amount": 41, "note": "all of it"})

    assert float(store_of_injector(injector).volume_m3) == pytest.approx(40e-6)
    assert (too_much.status_code, too_much.json()["code"]) == (409, "not_enough_oil")
    assert OilMove.objects.filter(kind=MoveKind.WASTED).count() == 1


def test_a_vial_test_sent_twice_is_one_test_and_another_under_its_key_is_refused(
    workshop_clock: Workshop, technician: User
) -> None:
    workshop_clock.lot()
    key = {"submission_key": str(uuid4())}

    first, again = (call(technician, "post", "oil_lot_vial_test", "L-1", VIAL | key) for _ in range(2))
    other = call(technician, "post", "oil_lot_vial_test", "L-1", VIAL | key | {"resistance": "900 MΩ"})

    assert (first.status_code, first.json()) == (201, again.json())
    assert first.json()["speaks_against"]
    assert other.json()["code"] == "submission_reused"
    assert OilTest.objects.count() == 1
    assert client_of(technician).get(reverse("api:oil_lot", args=["L-1"])).json()["state"] == "TEST_AGAINST"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"resistance": "OL"}, "resistance"),
        ({"nominal_voltage": "0.5 V"}, "nominal_voltage"),
        ({"mixed": None}, "mixed"),
    ],
)
def test_a_vial_reading_that_says_nothing_is_refused_under_its_name(
    workshop_clock: Workshop, technician: User, change: dict[str, Any], field: str
) -> None:
    workshop_clock.lot()

    answer = call(technician, "post", "oil_lot_vial_test", "L-1", VIAL | change)

    assert (answer.status_code, list(answer.json()["fields"])) == (400, [field])
    assert not OilTest.objects.exists()


def test_the_order_level_is_set_and_taken_away(workshop_clock: Workshop, technician: User) -> None:
    workshop_clock.lot()

    low = call(technician, "put", "oil_lot_level", "L-1", {"low": "0,2 l"}).json()["low_m3"]
    beyond = call(technician, "put", "oil_lot_level", "L-1", {"low": "300 ml"})
    gone = call(technician, "put", "oil_lot_level", "L-1", {"low": None}).json()["low_m3"]

    assert (low, gone) == (pytest.approx(200e-6), None)
    assert "always be low" in beyond.json()["fields"]["low"][0]


def test_a_bad_lot_is_followed_up_and_can_not_be_found_bad_again(
    workshop_clock: Workshop, technician: User
) -> None:
    injector = workshop_clock.injector()
    workshop_clock.fill(injector, workshop_clock.lot())
    workshop_clock.later()

    found = call(technician, "post", "oil_lot_bad", "L-1", {"note": "milky"})
    again = call(technician, "post", "oil_lot_bad", "L-1", {"note": "milky"})

    assert (found.status_code, found.json()["lot"]["state"]) == (200, "BAD")
    assert found.json()["incidents"] == list(Incident.objects.values_list("pk", flat=True))
    assert (again.status_code, "was found bad before" in again.json()["message"]) == (409, True)
    injector.state.refresh_from_db()
    assert injector.state.unknown
