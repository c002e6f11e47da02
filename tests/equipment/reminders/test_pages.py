"""The list of reminders and putting one aside, as people see them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.core import mail
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from pytest_django.fixtures import Settings

from equipment.reminders.models import Digest, DigestStatus, Reminder, Snooze
from equipment.services.snoozes import ReminderClosed, reminder_snooze
from shopcool.core import clock
from shopcool.engineering.quantities import Kind, parse
from shopcool.people.models import User
from shopcool.shop.models import Shop
from tests.equipment.page_text import words_of
from tests.equipment.reminders.conftest import TODAY, Remembering
from tests.people_fixtures import SignedIn

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def morning(remembering: Remembering, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is a quarter past seven at the workshop, on the day that the run before it was for."""
    monkeypatch.setattr(clock, "now", lambda: remembering.moment(0, "07:15"))


@pytest.fixture
def browser(remembering: Remembering, signed_in: SignedIn) -> Client:
    """The owner's browser."""
    return signed_in(remembering.owner)


def in_days(days: int) -> date:
    return TODAY + timedelta(days=days)


def only_reminder() -> Reminder:
    return Reminder.objects.get(status="OPEN")


def put_aside(browser: Client, days: int, reason: str = "parts are ordered") -> Snooze | None:
    """Put the only reminder aside for so many days and return what is on record."""
    address = f"/reminders/{only_reminder().pk}/snooze/"
    browser.post(address, {"until": in_days(days).isoformat(), "reason": reason})
    return Snooze.objects.order_by("-pk").first()


class TestList:
    def test_says_what_is_due_when_and_what_happens_without_it(
        self, remembering: Remembering, browser: Client
    ) -> None:
        remembering.certificate(in_days(-2), "M-1")
        remembering.certificate(in_days(5), "M-2")
        remembering.run(0)

        text = words_of(browser.get("/reminders/"))

        assert text.index("Certificate C-2026-02-28 of M-1") < text.index("Certificate C-2026-03-07 of M-2")
        assert "Overdue 28 Feb 2026 2 days ago" in text
        assert "Coming 7 Mar 2026 in 5 days" in text
        assert "Without it the piece is not ready." in text
        assert text.count("can’t wait") == 1
        assert "What is new comes once a day to orla@shop.example." in text
        assert "Written 2 reminders, 1 e-mail By test" in text

    def test_counts_what_waits_in_the_navigation_of_every_page(
        self, remembering: Remembering, browser: Client
    ) -> None:
        remembering.certificate(in_days(5))
        assert "Reminders the daily run is missing Records" in words_of(browser.get("/"))
        remembering.run(0)

        assert "Reminders 1 Records" in words_of(browser.get("/"))

    def test_keeps_what_is_due_at_once_on_later_days(
        self, remembering: Remembering, browser: Client, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        remembering.workshop.lot(low=parse("250", Kind.VOLUME, default_unit="ml"))
        remembering.run(0)

        monkeypatch.setattr(clock, "now", lambda: remembering.moment(3, "06:00"))

        text = words_of(browser.get("/reminders/"))
        assert "Next container of POE 68 Overdue 2 Mar 2026 3 days ago Not now" in text

    def test_forgets_what_was_done_a_moment_ago(self, remembering: Remembering, browser: Client) -> None:
        paper = remembering.certificate(in_days(5))
        remembering.run(0)
        remembering.renewed(paper.piece_id, in_days(300))

        assert "Nothing to think of" in words_of(browser.get("/reminders/"))

    def test_warns_the_owner_when_no_day_was_written(
        self, remembering: Remembering, browser: Client, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        assert "have not been written yet" in words_of(browser.get("/reminders/"))
        remembering.run(0)
        assert "daily run" not in words_of(browser.get("/"))

        monkeypatch.setattr(clock, "now", lambda: remembering.moment(1, "08:01"))
        assert "Reminders were last written for 2 Mar 2026" in words_of(browser.get("/reminders/"))
        assert "the daily run is missing" in words_of(browser.get("/"))

    def test_says_when_email_is_off_or_did_not_get_through(
        self, remembering: Remembering, browser: Client, settings: Settings
    ) -> None:
        remembering.certificate(in_days(5))
        remembering.run(0)
        Digest.objects.update(status=DigestStatus.WAITING, failure="ConnectionRefusedError: nobody there")
        assert "E-mail of 2 Mar 2026 to Orla: Waiting. ConnectionRefusedError" in words_of(
            browser.get("/reminders/")
        )

        settings.MAIL_IS_ON = False
        assert "E-mail is not set up" in words_of(browser.get("/reminders/"))

    def test_needs_the_same_queries_for_any_number(
        self, remembering: Remembering, browser: Client, django_assert_max_num_queries: DjangoAssertNumQueries
    ) -> None:
        for number in range(8):
            remembering.certificate(in_days(number), f"M-{number}")
        remembering.run(0)

        with django_assert_max_num_queries(18):
            assert words_of(browser.get("/reminders/")).count("Certificate C-") == 8


class TestSnooze:
    def test_keeps_a_reminder_away_until_its_day_and_then_tells_it_once_more(
        self, remembering: Remembering, browser: Client
    ) -> None:
        remembering.certificate(in_days(25))
        remembering.run(0)
        mail.outbox.clear()

        snooze = put_aside(browser, 3)

        assert snooze is not None
        assert (snooze.made_by.username, snooze.reason) == ("orla", "parts are ordered")
        text = words_of(browser.get("/reminders/"))
        assert "Nothing to think of" in text
        assert "“parts are ordered”, 2 Mar 2026 5 Mar 2026 due 27 Mar 2026" in text
        for day in (1, 2):
            remembering.run(day)
        assert mail.outbox == []
        remembering.run(3)
        remembering.run(4)
        assert [message.subject for message in mail.outbox] == ["Harbour Street Workshop: 1 reminder"]

    def test_a_stage_that_came_meanwhile_is_told_when_it_ends(
        self, remembering: Remembering, browser: Client
    ) -> None:
        remembering.certificate(in_days(8))
        remembering.run(0)
        put_aside(browser, 2)

        for day in range(1, 4):
            remembering.run(day)

        assert remembering.told() == ["COMING 30", "COMING 7"]

    def test_hides_no_overdue_thing_from_the_owners(
        self, remembering: Remembering, signed_in: SignedIn
    ) -> None:
        keeper = User.objects.get(username="tilda")
        Shop.objects.update(equipment_keeper=keeper)
        paper = remembering.certificate(in_days(1))
        type(paper.piece).objects.update(kind="HOSE_SET")
        remembering.run(0)

        put_aside(signed_in(keeper), 60)
        remembering.run(2)

        assert remembering.told(keeper) == ["COMING 7"]
        assert remembering.told() == ["OVERDUE"]

    @pytest.mark.parametrize(
        ("due", "until", "reason", "sentence"),
        [
            (0, 1, "parts are ordered", "the work it belongs to is refused"),
            (5, 6, "parts are ordered", "Until 2026-03-07 at the latest."),
            (5, 0, "parts are ordered", "Choose a day after today."),
            (5, 3, "  ", "This field is required."),
            (5, 3, "x" * 400, "at most 300 characters"),
        ],
    )
    def test_that_is_too_long_or_without_a_reason_is_refused_and_keeps_what_was_typed(
        self, remembering: Remembering, browser: Client, due: int, until: int, reason: str, sentence: str
    ) -> None:
        remembering.certificate(in_days(due))
        remembering.run(0)
        day = in_days(until).isoformat()

        answer = browser.post(f"/reminders/{only_reminder().pk}/snooze/", {"until": day, "reason": reason})

        assert answer.status_code == 422
        assert sentence in words_of(answer)
        assert due == 0 or f'value="{day}"' in answer.content.decode()
        assert not Snooze.objects.exists()

    def test_can_be_changed_and_ended(self, remembering: Remembering, browser: Client) -> None:
        remembering.certificate(in_days(25))
        remembering.run(0)
        first, again = put_aside(browser, 3), put_aside(browser, 3)
        assert first == again

        longer = put_aside(browser, 9, "a week more")
        assert longer is not None
        assert Snooze.objects.count() == 2
        browser.post(f"/reminders/{only_reminder().pk}/unsnooze/")

        assert not Snooze.objects.filter(ended_at__isnull=True).exists()
        assert "in 25 days Not now" in words_of(browser.get("/reminders/"))

    def test_of_a_closed_reminder_is_refused(self, remembering: Remembering) -> None:
        remembering.certificate(in_days(8))
        remembering.run(0)
        old = only_reminder()
        remembering.run(1)

        with pytest.raises(ReminderClosed, match="closed already"):
            reminder_snooze(
                actor=remembering.workshop.owner, reminder=old, until=in_days(3),
                reason="parts are ordered", now=remembering.moment(1),
            )  # fmt: skip


class TestRights:
    @pytest.mark.parametrize("path", ["snooze", "unsnooze"])
    @pytest.mark.parametrize(("who", "status"), [("owner", 403), ("colleague", 404), ("outsider", 404)])
    def test_a_reminder_is_put_aside_by_its_own_person_only(
        self,
        remembering: Remembering,
        request: pytest.FixtureRequest,
        signed_in: SignedIn,
        who: str,
        status: int,
        path: str,
    ) -> None:
        remembering.certificate(in_days(5))
        remembering.run(0)
        address = f"/reminders/{only_reminder().pk}/{path}/"
        other = signed_in(request.getfixturevalue(who))

        answer = other.post(address, {"until": in_days(2).isoformat(), "reason": "parts are ordered"})

        assert answer.status_code == status
        assert not Snooze.objects.exists()

    def test_the_list_is_for_those_who_work_here(
        self, outsider: User, colleague: User, signed_in: SignedIn, client: Client
    ) -> None:
        assert signed_in(outsider).get("/reminders/").status_code == 404
        text = words_of(signed_in(colleague).get("/reminders/"))
        assert "You have no e-mail address here: reminders stand in this list only. Enter my address" in text
        assert "The last run" not in text
        assert client.get("/reminders/").headers["Location"] == "/sign-in/?next=/reminders/"
