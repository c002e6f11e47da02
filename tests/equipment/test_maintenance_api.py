"""Maintenance told by another program: what a piece needs, and work that was done, with its verdict."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.urls import reverse

from equipment.choices import PieceKind
from equipment.maintenance.choices import IntervalSource, Work
from equipment.maintenance.models import MaintenancePlan, MaintenanceRecord
from equipment.maintenance.plans import PlanDescription, plan_add
from equipment.maintenance.rules import Interval
from equipment.models import Piece
from shopcool.people.models import User
from shopcool.vehicles.choices import Refrigerant
from tests.api.test_reading import client_of
from tests.equipment.workshop import Workshop

#: R-134a at 35 °C has 7.86 bar gauge (CoolProp 8.0.0).
QUIET = {"pressure": "7.9 bar", "temperature": "35 °C"}


@pytest.fixture
def machine(workshop_clock: Workshop) -> Piece:
    return workshop_clock.piece("M-1", PieceKind.MACHINE, refrigerant=Refrigerant.R134A)


def planned(workshop: Workshop, piece: Piece, work: Work) -> tuple[MaintenancePlan, str]:
    """Return a monthly plan and the door of its work."""
    description = PlanDescription(work, Interval(months=1), IntervalSource.SHOP_POLICY)
    plan = plan_add(actor=workshop.owner, piece=piece, description=description, now=workshop.now)
    return plan, reverse("api:plan_work", args=[piece.code, plan.pk])


def test_air_in_a_tank_comes_back_as_a_verdict_and_is_recorded_once(
    workshop_clock: Workshop, machine: Piece, technician: User
) -> None:
    plan, door = planned(workshop_clock, machine, Work.TANK_CHECK)
    client, body = client_of(technician), {"pressure": {"value": "9,8", "unit": "bar"}, "temperature": 35}
    body |= {"submission_key": str(uuid4())}

    first, again = (client.post(door, body, format="json") for _ in range(2))
    other = client.post(door, body | {"pressure": "7.9 bar"}, format="json")

    assert (first.status_code, first.json()["outcome"]) == (201, "FAILED")
    assert "air or another gas is in the tank" in first.json()["findings"][0]
    assert first.json() == again.json()
    assert other.json()["code"] == "submission_reused"
    assert MaintenanceRecord.objects.count() == 1
    plans = client.get(reverse("api:piece_plans", args=["M-1"])).json()["results"]
    assert [(one["id"], one["failed_on"]) for one in plans] == [(plan.pk, "2026-03-02")]
    listed = client.get(reverse("api:piece_maintenance", args=["M-1"])).json()["results"]
    assert [one["hash"] for one in listed] == [first.json()["hash"]]


def test_a_scale_is_judged_against_a_registered_mass(
    workshop_clock: Workshop, machine: Piece, technician: User
) -> None:
    _plan, door = planned(workshop_clock, machine, Work.SCALE_CHECK)
    workshop_clock.piece("G-1", PieceKind.REFERENCE_MASS)
    client, body = client_of(technician), {"reference": "2 kg", "before": "2.004 kg"}

    unknown = client.post(door, body | {"reference_piece": "M-1"}, format="json")
    checked = client.post(door, body | {"reference_piece": "G-1"}, format="json")

    assert (unknown.status_code, list(unknown.json()["fields"])) == (404, ["reference_piece"])
    assert (checked.status_code, checked.json()["outcome"]) == (201, "PASSED")


@pytest.mark.parametrize(
    ("change", "field", "sentence"),
    [
        ({"temperature": None}, "temperature", "how warm the metal"),
        ({"pressure": "2 bar"}, "pressure", "says nothing about air"),
        ({"pressure": "many"}, "pressure", "number"),
        ({"done_on": "2026-12-24"}, "done_on", "in the future"),
    ],
)
def test_what_says_nothing_is_refused_under_its_name(
    workshop_clock: Workshop,
    machine: Piece,
    technician: User,
    change: dict[str, object],
    field: str,
    sentence: str,
) -> None:
    _plan, door = planned(workshop_clock, machine, Work.TANK_CHECK)

    answer = client_of(technician).post(door, QUIET | change, format="json")

    assert answer.status_code == 400
    assert sentence in answer.json()["fields"][field][0]
    assert not MaintenanceRecord.objects.exists()


def test_are_closed_to_strangers_outsiders_and_colleagues_without_the_right(
    workshop_clock: Workshop, machine: Piece, outsider: User, front_desk: User, technician: User
) -> None:
    _plan, door = planned(workshop_clock, machine, Work.TANK_CHECK)
    plans = reverse("api:piece_plans", args=["M-1"])
    people = (None, outsider, front_desk, technician)

    sent = [client_of(user).post(door, QUIET, format="json").status_code for user in people]
    read = [client_of(user).get(plans).status_code for user in people]

    assert (sent, read) == ([401, 404, 403, 201], [401, 404, 200, 200])
