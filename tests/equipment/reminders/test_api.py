"""The REST doors of the reminders: one's own only, the same refusals as on the pages."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.urls import reverse

from equipment.models import PieceDocument
from equipment.reminders.models import Digest, DigestStatus, Reminder, Snooze
from shopcool.core import clock
from shopcool.people.models import User
from tests.api.test_reading import client_of
from tests.equipment.reminders.conftest import TODAY, Remembering

pytestmark = pytest.mark.django_db
LIST, RUN = "/api/v1/reminders/", "/api/v1/reminders/run/"


@pytest.fixture(autouse=True)
def morning(remembering: Remembering, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is a quarter past seven at the workshop, on the day that the run before it was for."""
    monkeypatch.setattr(clock, "now", lambda: remembering.moment(0, "07:15"))


def in_days(days: int) -> date:
    return TODAY + timedelta(days=days)


@pytest.fixture
def reminder(remembering: Remembering) -> Reminder:
    """The owner is reminded of a certificate that ends in five days."""
    remembering.certificate(in_days(5))
    remembering.run(0)
    return Reminder.objects.get(status="OPEN")


def address(door: str, reminder: Reminder) -> str:
    return reverse(f"api:reminder_{door}", args=[reminder.pk])


def aside(days: int, reason: str = "parts are ordered") -> dict[str, str]:
    return {"until": in_days(days).isoformat(), "reason": reason}


class TestList:
    def test_is_of_what_still_stands(self, remembering: Remembering, reminder: Reminder) -> None:
        client = client_of(remembering.owner)

        (told,) = client.get(LIST).json()["results"]
        remembering.renewed(PieceDocument.objects.get().piece_id, in_days(300))

        assert (told["what"], told["stage"]) == ("Certificate C-2026-03-07 of M-1", "COMING")
        assert (told["due_on"], told["blocks"], told["piece"]) == ("2026-03-07", True, "M-1")
        assert (told["aside_until"], told["aside_reason"]) == (None, "")
        assert client.get(LIST).json()["count"] == 0

    def test_holds_nothing_of_other_people(self, reminder: Reminder, colleague: User, outsider: User) -> None:
        assert client_of(colleague).get(LIST).json()["count"] == 0
        assert client_of(outsider).get(LIST).json()["count"] == 0
        assert client_of(None).get(LIST).status_code == 401


class TestSnooze:
    def test_is_kept_once_and_ended(self, remembering: Remembering, reminder: Reminder) -> None:
        client = client_of(remembering.owner)

        twice = [client.post(address("snooze", reminder), aside(3), format="json") for _ in range(2)]
        ended = client.post(address("unsnooze", reminder))

        assert [answer.json()["aside_until"] for answer in twice] == ["2026-03-05", "2026-03-05"]
        assert twice[0].json()["aside_reason"] == "parts are ordered"
        assert ended.json()["aside_until"] is None
        assert Snooze.objects.get().ended_at is not None

    @pytest.mark.parametrize(
        ("body", "field", "sentence"),
        [
            (aside(6), "until", "Until 2026-03-07 at the latest."),
            (aside(3, " - "), "reason", "Say in a few words why it can wait."),
            (aside(3, "x" * 400), "reason", "no more than 300 characters"),
            ({"until": "soon", "reason": "parts are ordered"}, "until", "Date has wrong format"),
        ],
    )
    def test_that_is_too_long_or_says_nothing_is_refused_beside_its_field(
        self, remembering: Remembering, reminder: Reminder, body: dict[str, str], field: str, sentence: str
    ) -> None:
        answer = client_of(remembering.owner).post(address("snooze", reminder), body, format="json")

        assert answer.status_code == 400
        assert sentence in answer.json()["fields"][field][0]
        assert not Snooze.objects.exists()

    @pytest.mark.parametrize("door", ["snooze", "unsnooze"])
    @pytest.mark.parametrize(("who", "status"), [("owner", 403), ("colleague", 404), ("outsider", 404)])
    def test_is_its_own_person_s_business_only(
        self, request: pytest.FixtureRequest, reminder: Reminder, who: str, status: int, door: str
    ) -> None:
        client = client_of(request.getfixturevalue(who))

        answer = client.post(address(door, reminder), aside(2), format="json")

        assert answer.status_code == status
        assert not Snooze.objects.exists()


class TestRun:
    def test_is_missing_until_it_comes_and_names_what_is_not_out(self, remembering: Remembering) -> None:
        client = client_of(remembering.owner)
        before = client.get(RUN).json()
        remembering.certificate(in_days(5))
        remembering.run(0)
        Digest.objects.update(status=DigestStatus.WAITING, failure="ConnectionRefusedError: nobody there")

        after = client.get(RUN).json()

        assert (before["day"], before["is_missing"]) == (None, True)
        assert (after["day"], after["worker"], after["is_missing"]) == ("2026-03-02", "test", False)
        assert (after["reminders"], after["digests"]) == (1, 1)
        assert [(one["to"], one["status"]) for one in after["unsent"]] == [("Orla", "WAITING")]

    def test_is_told_to_owners_only(self, colleague: User, outsider: User) -> None:
        assert client_of(colleague).get(RUN).status_code == 403
        assert client_of(outsider).get(RUN).status_code == 404
