"""The REST doors: the same services as the pages, denied by default."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse
from rest_framework.authtoken.models import Token
from rest_framework.test import APIClient

from equipment.models import Clearance
from jobs.choices import StepKind
from shopcool.core.actors import Role
from shopcool.people.models import User
from tests.equipment.workshop import Workshop, make_user
from tests.jobs.bay import Bay

pytestmark = pytest.mark.django_db


@pytest.fixture
def bay(monkeypatch: pytest.MonkeyPatch) -> Bay:
    """A job on an electric car with everything recorded but the connection, at the time of the story."""
    bay = Bay(Workshop()).checked_in()
    monkeypatch.setattr("jobs.api.now", lambda: bay.workshop.now)
    monkeypatch.setattr("equipment.api.now", lambda: bay.workshop.now)
    for kind in (StepKind.LABEL, StepKind.HIGH_VOLTAGE, StepKind.IDENTIFICATION, StepKind.OIL_BOTTLE):
        bay.record(kind)
    return bay


def client_of(user: User | None) -> APIClient:
    """A program that signs in with a person's token, or with none."""
    client = APIClient()
    if user is not None:
        token, _ = Token.objects.get_or_create(user=user)
        client.credentials(HTTP_AUTHORIZATION=f"Token {token.key}")
    return client


@pytest.fixture
def technician(bay: Bay) -> APIClient:
    return client_of(User.objects.get(username="tilda"))


def addresses(bay: Bay) -> list[tuple[str, str]]:
    circuit = bay.job.circuit_id
    return [
        ("get", reverse("api:vehicles")),
        ("get", reverse("api:vehicle", args=[bay.job.circuit.vehicle_id])),
        ("get", reverse("api:pieces")),
        ("get", reverse("api:piece", args=["M-1"])),
        ("get", reverse("api:piece_exposures", args=["M-1"])),
        ("get", reverse("api:jobs")),
        ("get", reverse("api:job", args=[bay.job.number])),
        ("get", reverse("api:circuit", args=[circuit])),
        ("get", reverse("api:circuit_oil", args=[circuit])),
        ("get", reverse("api:job_injectors", args=[bay.job.number])),
        ("post", reverse("api:clearance_check", args=[bay.job.number])),
        ("post", reverse("api:circuit_clearance_check", args=[circuit])),
        ("get", reverse("api:schema") + "?format=json"),
    ]


def ask(client: APIClient, method: str, url: str, body: Any = None) -> Any:
    return getattr(client, method)(url, body, format="json") if method == "post" else client.get(url)


class TestAccess:
    def test_without_a_token_every_door_is_closed(self, bay: Bay) -> None:
        for method, url in addresses(bay):
            answer = ask(client_of(None), method, url, {"pieces": ["M-1"]})

            assert answer.status_code == 401, url
            assert answer.json()["code"] == "not_authenticated"

    def test_an_outsider_finds_nothing(self, bay: Bay) -> None:
        outsider = client_of(make_user("nobody", qualified=False))

        for method, url in addresses(bay):
            answer = ask(outsider, method, url, {"pieces": ["M-1"]})

            is_list = url in {reverse("api:vehicles"), reverse("api:pieces"), reverse("api:jobs")}
            if is_list:
                assert answer.json()["count"] == 0, url
            elif "schema" not in url:
                assert answer.status_code == 404, url

    @pytest.mark.parametrize("role", list(Role))
    def test_every_colleague_reads(self, bay: Bay, role: Role) -> None:
        colleague = client_of(make_user("colleague", role))

        for method, url in addresses(bay):
            assert ask(colleague, method, url, {"pieces": ["M-1"]}).status_code == 200, url


class TestClearanceCheck:
    def test_permits_what_the_purge_has_cleared_and_records_nothing(
        self, bay: Bay, technician: APIClient
    ) -> None:
        url = reverse("api:clearance_check", args=[bay.job.number])

        answer = technician.post(url, {"pieces": ["M-1", "H-1"]}, format="json").json()

        assert answer["permitted"] is True
        assert answer["rules_version"] == "clearance-3"
        assert not Clearance.objects.exists()

    def test_gives_every_reason_with_fix_and_source(self, bay: Bay, technician: APIClient) -> None:
        bay.sight_glass()
        url = reverse("api:clearance_check", args=[bay.job.number])

        answer = technician.post(url, {"pieces": ["M-1", "S-1"]}, format="json").json()

        assert answer["permitted"] is False
        (reason,) = answer["reasons"]
        assert reason["code"] == "unknown_residue"
        assert reason["piece_code"] == "S-1"
        assert "Run a line purge with S-1 in the loop" in reason["fix"]
        assert reason["source"]

    @pytest.mark.parametrize(
        ("body", "field", "message"),
        [
            ({}, "pieces", "required"),
            ({"pieces": []}, "pieces", "empty"),
            ({"pieces": "M-1"}, "pieces", "list"),
            ({"pieces": ["X" * 400]}, "pieces", "20 characters"),
            ({"pieces": ["M-77"]}, "pieces", "There is no piece M-77"),
        ],
    )
    def test_names_the_field_of_a_bad_request(
        self, bay: Bay, technician: APIClient, body: Any, field: str, message: str
    ) -> None:
        url = reverse("api:clearance_check", args=[bay.job.number])

        answer = technician.post(url, body, format="json")

        assert answer.status_code in {400, 404}
        assert message in str(answer.json()["fields"][field])


class TestJob:
    def test_shows_steps_records_and_what_was_typed(self, bay: Bay, technician: APIClient) -> None:
        answer = technician.get(reverse("api:job", args=[bay.job.number])).json()

        assert answer["job"]["number"] == bay.job.number
        steps = {step["kind"]: step for step in answer["steps"]}
        assert steps["CONNECTION"]["status"] == "NEXT"
        identification = next(row for row in answer["records"] if row["kind"] == "IDENTIFICATION")
        assert identification["values"]["purity"]["typed"].startswith("99,7")
        assert identification["values"]["purity"]["si"] == pytest.approx(0.997)

    @pytest.mark.parametrize("moment", ["0423-02-25T00:26:29+22:39", "99999-01-01T00:00:00Z", "yesterday"])
    def test_refuses_a_moment_no_workshop_has_seen(
        self, bay: Bay, technician: APIClient, moment: str
    ) -> None:
        answer = technician.get(reverse("api:jobs"), {"booked_from": moment})

        assert answer.status_code == 400
        assert "booked_from" in answer.json()["fields"]


class TestPieces:
    def test_query_count_does_not_grow_with_the_rows(
        self, bay: Bay, technician: APIClient, django_assert_max_num_queries: Any
    ) -> None:
        for number in range(12):
            bay.workshop.piece(f"H-2{number}")

        with django_assert_max_num_queries(6):
            answer = technician.get(reverse("api:pieces"))

        assert answer.json()["count"] == 14

    def test_who_has_it_is_told(self, bay: Bay, technician: APIClient) -> None:
        bay.connect()

        answer = technician.get(reverse("api:piece", args=["M-1"])).json()

        assert answer["on_job"] == bay.job.number
        assert answer["state"]["lubricants"] == ["POE"]
