"""The REST doors of the steps: the same rules and the same record as the pages."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

import pytest
from django.urls import reverse
from rest_framework.test import APIClient

from jobs.choices import StepKind
from jobs.models import StepRecord
from shopcool.core import clock
from shopcool.core.actors import Role
from shopcool.people.models import User
from tests.api.test_reading import client_of
from tests.equipment.workshop import Workshop, make_user
from tests.jobs.bay import Bay

pytestmark = pytest.mark.django_db


@pytest.fixture
def booked(monkeypatch: pytest.MonkeyPatch) -> Bay:
    """An electric car that will come in."""
    bay = Bay(Workshop())
    for door in ("jobs.api_steps.now", "jobs.api.now"):
        monkeypatch.setattr(door, lambda: bay.workshop.later(0.1))
    monkeypatch.setattr(clock, "now", lambda: bay.workshop.now)
    return bay


@pytest.fixture
def bay(booked: Bay) -> Bay:
    """An electric car that has just come in."""
    return booked.checked_in()


@pytest.fixture
def technician(booked: Bay) -> APIClient:
    return client_of(User.objects.get(username="tilda"))


def address(bay: Bay, kind: StepKind, name: str = "api:job_step") -> str:
    return reverse(name, args=[bay.job.number, kind.value])


def sending(bay: Bay, kind: StepKind, **changes: Any) -> dict[str, Any]:
    return {"values": bay.raw(kind, **changes), "seen": 0, "idempotency_key": str(uuid4())}


class TestAsking:
    def test_names_fields_units_and_choices(self, bay: Bay, technician: APIClient) -> None:
        answer = technician.get(address(bay, StepKind.IDENTIFICATION)).json()

        asks = {field["name"]: field for field in answer["asks"]}
        assert (asks["purity"]["unit"], asks["purity"]["required"]) == ("%", True)
        assert asks["purity"]["asked_if"] == {"result": ["ANALYSED"]}
        assert asks["filter"]["choices"]["CLEAN"] == "clean"
        assert (answer["state"]["kind"], answer["seen"]) == ("IDENTIFICATION", 0)

    def test_of_a_step_that_does_not_exist_finds_nothing(self, bay: Bay, technician: APIClient) -> None:
        address = reverse("api:job_step", args=[bay.job.number, "POLISHING"])

        assert technician.get(address).status_code == 404


class TestAnswer:
    def test_is_given_and_nothing_recorded(self, bay: Bay, technician: APIClient) -> None:
        url = address(bay, StepKind.LABEL, "api:job_step_answer")

        answer = technician.post(url, {"values": {"label": "READ", "additives": ["DYE"]}}, format="json")

        assert (answer.status_code, answer.json()["outcome"]) == (200, "MATCHES")
        assert "dye_in_high_voltage" in {finding["code"] for finding in answer.json()["findings"]}
        assert not StepRecord.objects.exists()

    def test_reads_a_vacuum_curve(self, booked: Bay, technician: APIClient) -> None:
        bay = booked.up_to(StepKind.RECOVERY)
        curve = "min Pa\n" + "\n".join(f"{minute} {50 + 6 * minute}" for minute in range(11))
        values = bay.raw(StepKind.EVACUATION, gauge="FOLLOWED", curve=curve, gauge_step="1 Pa")

        answer = technician.post(
            address(bay, StepKind.EVACUATION, "api:job_step_answer"), {"values": values}, format="json"
        ).json()

        rise = next(output for output in answer["outputs"] if output["name"] == "steady_rise")
        # 6 Pa/min by construction.
        assert rise["si"] == pytest.approx(0.1, rel=0.02)

    def test_blames_every_wrong_field_at_once(self, bay: Bay, technician: APIClient) -> None:
        bay.record(StepKind.LABEL)
        url = address(bay, StepKind.IDENTIFICATION, "api:job_step_answer")
        values = {"result": "ANALYSED", "purity": "NaN", "hydrocarbon": "1e400", "identifier": {"a": 1}}

        answer = technician.post(url, {"values": values}, format="json")

        assert answer.status_code == 400
        assert set(answer.json()["fields"]) == {"purity", "hydrocarbon", "identifier", "filter"}


class TestRecording:
    def test_keeps_what_was_typed_and_gives_the_record(self, bay: Bay, technician: APIClient) -> None:
        bay.record(StepKind.LABEL)

        answer = technician.post(
            address(bay, StepKind.IDENTIFICATION), sending(bay, StepKind.IDENTIFICATION), format="json"
        )

        assert answer.status_code == 201
        assert answer.json()["values"]["purity"]["typed"].startswith("99,7")
        assert answer.json()["answer"]["outcome"] == "PASSED"
        assert StepRecord.objects.filter(kind=StepKind.IDENTIFICATION).count() == 1

    def test_sent_twice_is_recorded_once(self, bay: Bay, technician: APIClient) -> None:
        body = sending(bay, StepKind.LABEL)

        first, second = (
            technician.post(address(bay, StepKind.LABEL), body, format="json").json() for _ in range(2)
        )

        assert first["hash"] == second["hash"]
        assert StepRecord.objects.count() == 1

    def test_tells_the_second_person_who_was_faster(self, bay: Bay, technician: APIClient) -> None:
        bay.record(StepKind.LABEL)

        answer = technician.post(address(bay, StepKind.LABEL), sending(bay, StepKind.LABEL), format="json")

        assert (answer.status_code, answer.json()["code"]) == (409, "step_taken")
        assert "Tilda recorded this step at" in answer.json()["message"]

    def test_of_a_step_that_waits_names_what_blocks_it(self, bay: Bay, technician: APIClient) -> None:
        answer = technician.post(address(bay, StepKind.CHARGE), sending(bay, StepKind.CHARGE), format="json")

        assert (answer.status_code, answer.json()["code"]) == (409, "step_blocked")
        assert "label_missing" in {reason["code"] for reason in answer.json()["details"]["reasons"]}


class TestAccess:
    def test_is_closed_without_a_token(self, bay: Bay) -> None:
        assert client_of(None).get(address(bay, StepKind.LABEL)).status_code == 401

    def test_an_outsider_finds_nothing(self, bay: Bay) -> None:
        outsider = client_of(make_user("nobody", qualified=False))

        assert outsider.get(address(bay, StepKind.LABEL)).status_code == 404
        for name in ("api:job_step", "api:job_step_answer"):
            url = address(bay, StepKind.LABEL, name)
            assert outsider.post(url, sending(bay, StepKind.LABEL), format="json").status_code == 404

    def test_the_front_desk_reads_and_records_nothing(self, bay: Bay) -> None:
        desk = client_of(make_user("fria", Role.FRONT_DESK, qualified=False))

        assert desk.get(address(bay, StepKind.LABEL)).status_code == 200
        for name in ("api:job_step", "api:job_step_answer"):
            url = address(bay, StepKind.LABEL, name)
            assert desk.post(url, sending(bay, StepKind.LABEL), format="json").status_code == 403
        assert not StepRecord.objects.exists()
