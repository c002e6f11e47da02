"""What every answer has: its headers, and a page for a refusal that no form shows."""

from __future__ import annotations

from typing import Any

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory

from shopcool.core.errors import Conflict, NotAllowed
from shopcool.core.middleware import RefusalPageMiddleware
from shopcool.engineering.errors import Refusal
from shopcool.people.models import User
from tests.people_fixtures import SignedIn


def answer_to(error: Exception) -> HttpResponse | None:
    def never(request: HttpRequest) -> HttpResponse:
        raise AssertionError("not called")

    return RefusalPageMiddleware(never).process_exception(RequestFactory().get("/"), error)


class TestRefusalPage:
    @pytest.mark.parametrize(
        ("error", "status", "sentence"),
        [
            (NotAllowed("Only an owner may do this."), 403, "Only an owner may do this."),
            (Conflict("Clara has hose set S-2."), 409, "Clara has hose set S-2."),
            (Refusal("two_phase", "This pressure has no single temperature."), 400, "no single temperature"),
        ],
    )
    def test_says_why_with_the_fitting_status(self, error: Exception, status: int, sentence: str) -> None:
        answer = answer_to(error)

        assert answer is not None
        assert answer.status_code == status
        assert sentence in answer.content.decode()

    def test_leaves_any_other_error_alone(self) -> None:
        assert answer_to(ValueError("a defect")) is None


class TestAddress:
    @pytest.mark.parametrize("address", ["/equipment/?kind=%00", "/equipment/M%001/", "/search/?q=a%00b"])
    def test_with_a_null_character_is_refused_and_not_looked_up(
        self, signed_in: SignedIn, technician: User, address: str
    ) -> None:
        answer = signed_in(technician).get(address)

        assert answer.status_code == 400
        assert "holds a character that can&#x27;t be read" in answer.content.decode()


class TestUnreadable:
    """What Django refuses to read is answered on a whole page, and the log stays free of our own faults."""

    @pytest.mark.parametrize(
        ("address", "more"),
        [
            ("/equipment/oil/new/", {"data": dict.fromkeys(map(str, range(2000)), "1")}),
            ("/equipment/oil/new/", {"data": b"--x", "content_type": "multipart/form-data"}),
            ("/equipment/?kind=%00", {}),
        ],
        ids=["too many fields", "broken form", "null character"],
    )
    def test_keeps_the_places_and_the_token_of_whoever_is_signed_in(
        self, technician: User, caplog: pytest.LogCaptureFixture, address: str, more: dict[str, Any]
    ) -> None:
        caplog.set_level("DEBUG", logger="django.template")
        client = Client(enforce_csrf_checks=True)
        client.get("/sign-in/")
        client.force_login(technician)

        answer = client.post(address, **more)

        page = answer.content.decode()
        assert answer.status_code == 400
        assert 'name="csrfmiddlewaretoken"' in page
        assert '"X-CSRFToken": ""' not in page
        assert not [said for said in caplog.messages if "csrf" in said.lower()]

    def test_answers_a_stranger_who_names_another_host(self, client: Client, db: None) -> None:
        answer = client.get("/sign-in/", headers={"host": "elsewhere.example!"})

        assert (answer.status_code, "could not be read" in answer.content.decode()) == (400, True)


class TestHeaders:
    def test_forbid_scripts_of_others_on_every_page(self, client: Client, db: None) -> None:
        policy = client.get("/sign-in/").headers["Content-Security-Policy"]

        assert "default-src 'self'" in policy
        assert "unsafe-inline" not in policy


class TestHealth:
    def test_answers_a_stranger_when_the_database_works(self, client: Client, db: None) -> None:
        answer = client.get("/health/")

        assert (answer.status_code, answer.json()) == (200, {"status": "ok"})
