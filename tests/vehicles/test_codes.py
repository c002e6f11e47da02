"""Tables of trouble codes: entered by the owner with their source, read by everybody."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from rest_framework.test import APIClient

from jobs.codes_on_file import CodesOnFile
from jobs.steps.trouble_codes import KnownCode
from shopcool.people.models import User
from shopcool.vehicles.choices import CodeArea
from shopcool.vehicles.models import CodeMeaning
from tests.people_fixtures import SignedIn
from tests.vehicles.fixtures import car

LINE: dict[str, Any] = {
    "make": "Nordwind", "model": "Kestrel", "code": "p0aa6", "detail": "611", "meaning": "A/C circuit",
    "area": "CIRCUIT", "source": "Handbook of the model, page 12",
}  # fmt: skip


@pytest.fixture
def page(owner: User, signed_in: SignedIn) -> Client:
    """The owner at the pages."""
    return signed_in(owner)


@pytest.fixture
def program(owner: User) -> APIClient:
    """Another system in the owner's name."""
    client = APIClient()
    client.force_authenticate(owner)
    return client


class TestCode:
    def test_is_entered_changed_found_and_taken_out(self, page: Client) -> None:
        answer = page.post("/vehicles/codes/new/", LINE)

        line = CodeMeaning.objects.get()
        assert (line.code, line.detail, line.entered_by.username) == ("P0AA6", "611", "olga")
        # The next line of the same table begins with what they have in common.
        following = page.get(answer.headers["Location"])
        assert following.context["form"].initial["source"] == LINE["source"]
        assert b"A/C circuit" in page.get("/vehicles/codes/?q=kestrel P0AA6-611").content
        assert b"No code on file" in page.get("/vehicles/codes/?q=merlin").content

        page.post(f"/vehicles/codes/{line.pk}/edit/", {**LINE, "meaning": "Compressor"})
        assert CodeMeaning.objects.get().meaning == "Compressor"

        page.post(f"/vehicles/codes/{line.pk}/remove/")
        assert not CodeMeaning.objects.exists()

    def test_sent_twice_is_one(self, page: Client) -> None:
        answers = [page.post("/vehicles/codes/new/", {**LINE, "make": make}) for make in ("Nordwind",) * 2]

        assert [answer.status_code for answer in answers] == [302, 302]
        assert CodeMeaning.objects.count() == 1

    @pytest.mark.parametrize(
        ("change", "field", "sentence"),
        [
            ({"code": "PXAA6"}, "code", "five characters, such as P0AA6"),
            ({"detail": "bad"}, "detail", "two or three characters with a digit"),
            ({"detail": ""}, "area", "a place needs the maker's detail code"),
            ({"meaning": "x" * 400}, "meaning", "at most 300 characters"),
            ({"source": " "}, "source", "required"),
            ({"meaning": "Another", "make": "NORDWIND", "code": "P0AA6"}, "code", "on file already"),
        ],
    )
    def test_is_refused_alike_by_page_and_api(
        self, page: Client, program: APIClient, change: dict[str, str], field: str, sentence: str
    ) -> None:
        program.post("/api/v1/trouble-codes/", LINE, format="json")

        shown = page.post("/vehicles/codes/new/", {**LINE, **change})
        sent = program.post("/api/v1/trouble-codes/", {**LINE, **change}, format="json")

        assert shown.status_code == 422
        assert sentence in " ".join(shown.context["form"].errors[field])
        assert sent.status_code in {400, 409}
        assert list(sent.json()["fields"]) == [field]
        assert CodeMeaning.objects.count() == 1

    def test_is_kept_through_the_api(self, program: APIClient) -> None:
        created = program.post("/api/v1/trouble-codes/", LINE, format="json")
        address = f"/api/v1/trouble-codes/{created.json()['id']}/"

        changed = program.put(address, {**LINE, "detail": "614", "area": "AREA"}, format="json")

        assert (created.status_code, changed.json()["detail"]) == (201, "614")
        assert program.get("/api/v1/trouble-codes/?q=p0aa6-614").json()["count"] == 1
        assert program.get(address).json()["source"] == LINE["source"]
        assert program.delete(address).status_code == 204

    def test_is_read_by_colleagues_and_kept_by_the_owner(
        self, page: Client, technician: User, outsider: User, signed_in: SignedIn
    ) -> None:
        page.post("/vehicles/codes/new/", LINE)
        line = f"/vehicles/codes/{CodeMeaning.objects.get().pk}"
        colleague, stranger = signed_in(technician), signed_in(outsider)

        assert colleague.get("/vehicles/codes/").status_code == 200
        assert colleague.get("/vehicles/codes/new/").status_code == 403
        assert [colleague.post(f"{line}/{verb}/").status_code for verb in ("edit", "remove")] == [403, 403]
        assert stranger.get("/vehicles/codes/").status_code == 403
        assert [stranger.post(f"{line}/{verb}/").status_code for verb in ("edit", "remove")] == [404, 404]

    def test_is_kept_by_the_owner_alone_through_the_api(
        self, program: APIClient, technician: User, outsider: User
    ) -> None:
        entered = program.post("/api/v1/trouble-codes/", LINE, format="json")
        line = f"/api/v1/trouble-codes/{entered.json()['id']}/"

        for person, refused in ((technician, 403), (outsider, 404)):
            program.force_authenticate(person)
            assert program.put(line, LINE, format="json").status_code == refused
            assert program.delete(line).status_code == refused
            assert program.post("/api/v1/trouble-codes/", LINE, format="json").status_code == 403
        assert CodeMeaning.objects.count() == 1

    def test_belongs_to_a_model_however_it_is_written(self, page: Client, now: datetime, owner: User) -> None:
        page.post("/vehicles/codes/new/", LINE)
        own, other = car(owner, now), car(owner, now, registration="HB-AC 215", model="Merlin")
        own.make = "NORDWIND "

        assert list(CodesOnFile(own)) == [
            KnownCode("P0AA6", "611", "A/C circuit", CodeArea.CIRCUIT, LINE["source"])
        ]
        assert not list(CodesOnFile(other))

    def test_list_needs_the_same_queries_for_any_number(
        self, page: Client, django_assert_max_num_queries: DjangoAssertNumQueries
    ) -> None:
        counts = []
        for detail in ("611", "612", "613"):
            page.post("/vehicles/codes/new/", {**LINE, "detail": detail})
            with django_assert_max_num_queries(10) as found:
                page.get("/vehicles/codes/")
            counts.append(len(found))
        assert counts[1] == counts[2]
