"""The calendar feed, read back by the icalendar library, and the secret address it is read from."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from django.core.cache import cache
from django.test import Client
from icalendar import Calendar
from pytest_django import DjangoAssertNumQueries

from jobs.calendar.events import Event
from jobs.calendar.feed import Published, calendar_text
from jobs.choices import ServiceKind
from jobs.models import Job
from jobs.services.booking import Booking, job_book
from jobs.services.visits import job_cancel
from shopcool.core import clock
from shopcool.people.models import CalendarAddress, Competence, CompetenceKind, User
from shopcool.people.services.calendar import calendar_address_make
from shopcool.shop.models import Shop
from shopcool.shop.selectors import shop_get
from tests.equipment.page_text import words_of
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn

pytestmark = pytest.mark.django_db
BERLIN = ZoneInfo("Europe/Berlin")


@pytest.fixture
def workshop(db: None, monkeypatch: pytest.MonkeyPatch) -> Workshop:
    """A workshop in Berlin, a week before the clocks change in October 2026."""
    cache.clear()
    shop_get()
    Shop.objects.update(time_zone="Europe/Berlin", name="Harbour Street Workshop")
    built = Workshop(now=datetime(2026, 10, 19, 8, 0, tzinfo=UTC))
    monkeypatch.setattr(clock, "now", lambda: built.now)
    return built


@pytest.fixture
def address(workshop: Workshop) -> str:
    """The technician's secret address."""
    actor = workshop.technician
    secret = calendar_address_make(actor=actor, user_id=actor.user_id or 0, now=workshop.now)
    return f"/calendar/{secret}.ics"


def book(workshop: Workshop, at: datetime) -> Job:
    """Book a car for the technician."""
    booking = Booking(ServiceKind.AC_SERVICE, at, bay="2", technician_id=workshop.technician.user_id)
    return job_book(actor=workshop.technician, circuit=workshop.circuit(), booking=booking, now=workshop.now)


def events(client: Client, address: str) -> list[dict[str, object]]:
    """Return the events of a feed as the library reads them."""
    answer = client.get(address)
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    calendar = Calendar.from_ical(answer.content)
    assert not calendar.walk("VTIMEZONE")
    assert all(not event.errors for event in calendar.walk("VEVENT"))
    return [
        {name.lower(): getattr(value, "dt", value) for name, value in event.items()}
        for event in calendar.walk("VEVENT")
    ]


class TestFeed:
    # The clocks of Berlin go back on 25 October 2026 (Directive 2000/84/EC): noon is 10:00 UTC before and
    # 11:00 UTC after. A feed that is an hour off shows 11:00 or 13:00 on one of the two days.
    def test_noon_is_noon_on_both_sides_of_the_clock_change(
        self, workshop: Workshop, address: str, client: Client
    ) -> None:
        before = book(workshop, datetime(2026, 10, 24, 12, 0, tzinfo=BERLIN))
        after = book(workshop, datetime(2026, 10, 28, 12, 0, tzinfo=BERLIN))

        first, second = events(client, address)

        assert (first["dtstart"], second["dtstart"]) == (
            datetime(2026, 10, 24, 10, 0, tzinfo=UTC),
            datetime(2026, 10, 28, 11, 0, tzinfo=UTC),
        )
        assert first["summary"] == "SC 001 Example Test: Recover, evacuate and charge"
        assert first["location"] == "2"
        assert first["url"] == f"http://testserver/jobs/{before.number}/"
        assert second["description"] == f"Job {after.number}"
        raw = client.get(address).content.decode()
        assert re.findall(r"DTSTART.*", raw) == ["DTSTART:20261024T100000Z\r", "DTSTART:20261028T110000Z\r"]

    def test_what_is_due_is_a_whole_day_without_any_zone(
        self, workshop: Workshop, address: str, client: Client
    ) -> None:
        Competence.objects.filter(
            user_id=workshop.technician.user_id, kind=CompetenceKind.HIGH_VOLTAGE
        ).update(valid_until=date(2026, 10, 25))

        (due,) = events(client, address)

        assert (due["dtstart"], due["dtend"]) == (date(2026, 10, 25), date(2026, 10, 26))
        assert due["summary"] == "Due: High-voltage work tilda-HIGH_VOLTAGE of Tilda"
        assert due["transp"] == "TRANSPARENT"
        assert "DTSTART;VALUE=DATE:20261025" in client.get(address).content.decode()

    def test_a_moved_car_keeps_its_name_and_counts_the_change(
        self, workshop: Workshop, address: str, client: Client
    ) -> None:
        job = book(workshop, datetime(2026, 10, 24, 12, 0, tzinfo=BERLIN))
        (was,) = events(client, address)
        written_at = workshop.now
        Job.objects.filter(pk=job.pk).update(booked_for=datetime(2026, 10, 24, 15, 30, tzinfo=BERLIN))
        workshop.later()

        (moved,) = events(client, address)
        (again,) = events(client, address)

        assert moved == again
        assert moved["uid"] == was["uid"]
        assert (was["sequence"], moved["sequence"]) == (0, 1)
        assert (was["last-modified"], moved["last-modified"]) == (written_at, workshop.now)
        assert moved["dtstamp"] == moved["last-modified"]

    def test_a_cancelled_car_and_a_colleagues_car_are_not_in_it(
        self, workshop: Workshop, address: str, client: Client
    ) -> None:
        job = book(workshop, datetime(2026, 10, 24, 12, 0, tzinfo=BERLIN))
        theirs = book(workshop, datetime(2026, 10, 26, 12, 0, tzinfo=BERLIN))
        Job.objects.filter(pk=theirs.pk).update(technician=workshop.owner.user_id)
        job_cancel(actor=workshop.technician, job=job, reason="customer called", now=workshop.later())

        assert events(client, address) == []

    def test_an_unchanged_feed_is_not_sent_again(
        self, workshop: Workshop, address: str, client: Client
    ) -> None:
        book(workshop, datetime(2026, 10, 24, 12, 0, tzinfo=BERLIN))
        etag = client.get(address).headers["ETag"]
        workshop.later(600)

        unchanged = client.get(address, headers={"If-None-Match": etag})
        assert (unchanged.status_code, unchanged.content) == (304, b"")
        book(workshop, datetime(2026, 10, 27, 12, 0, tzinfo=BERLIN))
        assert client.get(address, headers={"If-None-Match": etag}).status_code == 200

    def test_needs_the_same_queries_for_any_number_of_cars(
        self,
        workshop: Workshop,
        address: str,
        client: Client,
        django_assert_max_num_queries: DjangoAssertNumQueries,
    ) -> None:
        for day in range(20, 30):
            book(workshop, datetime(2026, 10, day, 12, 0, tzinfo=BERLIN))

        with django_assert_max_num_queries(16):
            assert len(events(client, address)) == 10

    def test_long_and_odd_texts_come_through_whole(self) -> None:
        title = "Müller; 日本, \\ \n " + "x" * 400
        event = Event("job:J-1", datetime(2026, 10, 24, 10, 0, tzinfo=UTC), title)
        published = Published(UUID(int=1), 0, datetime(2026, 10, 1, tzinfo=UTC))

        text = calendar_text("A, B; C", [(event, published)])

        assert str(Calendar.from_ical(text).walk("VEVENT")[0]["summary"]) == title
        # RFC 5545, 3.1: lines of at most 75 octets.
        assert max(len(line) for line in text.split(b"\r\n")) <= 75


class TestAddress:
    def test_is_shown_once_and_kept_as_a_digest(
        self, workshop: Workshop, signed_in: SignedIn, client: Client
    ) -> None:
        browser = signed_in(User.objects.get(pk=workshop.technician.user_id))
        assert "You have no address." in words_of(browser.get("/my-calendar/"))

        answer = browser.post("/my-calendar/")

        found = re.search(r"http://testserver(/calendar/([\w-]{32})\.ics)", answer.content.decode())
        assert found is not None
        assert client.get(found[1]).status_code == 200
        assert found[2] not in str(CalendarAddress.objects.values().get())
        again = browser.get("/my-calendar/")
        assert found[2] not in again.content.decode()
        assert "A program last asked on 19 Oct 2026 10:00." in words_of(again)

    def test_a_new_one_ends_the_old_one_and_can_be_ended(
        self, workshop: Workshop, address: str, signed_in: SignedIn, client: Client
    ) -> None:
        browser = signed_in(User.objects.get(pk=workshop.technician.user_id))
        shown = re.search(r"/calendar/[\w-]+\.ics", browser.post("/my-calendar/").content.decode())
        assert shown is not None

        assert client.get(address).status_code == 404
        assert client.get(shown[0]).status_code == 200
        browser.post("/my-calendar/end/")
        assert client.get(shown[0]).status_code == 404

    @pytest.mark.parametrize("change", [{"is_active": False}, {"roles": []}])
    def test_of_somebody_who_left_opens_nothing(
        self, workshop: Workshop, address: str, client: Client, change: dict[str, object]
    ) -> None:
        User.objects.filter(pk=workshop.technician.user_id).update(**change)

        assert client.get(address).status_code == 404

    def test_takes_no_writing_and_not_too_many_questions(
        self, workshop: Workshop, address: str, client: Client
    ) -> None:
        assert client.post(address).status_code == 405
        statuses = [client.get("/calendar/wrong.ics").status_code for _number in range(61)]

        assert statuses == [404] * 60 + [429]
        refused = client.get(address)
        assert refused.status_code == 429
        assert 0 < int(refused.headers["Retry-After"]) <= 60
        assert client.get(address, REMOTE_ADDR="192.0.2.7").status_code == 200

    def test_is_for_those_who_work_here(
        self, workshop: Workshop, outsider: User, signed_in: SignedIn, client: Client
    ) -> None:
        assert signed_in(outsider).post("/my-calendar/").status_code == 404
        assert not CalendarAddress.objects.exists()
        assert client.get("/my-calendar/").headers["Location"] == "/sign-in/?next=/my-calendar/"


def test_two_people_see_an_overdue_thing_under_the_same_name(
    workshop: Workshop, address: str, client: Client
) -> None:
    book(workshop, workshop.now + timedelta(days=1))
    owner = workshop.owner
    secret = calendar_address_make(actor=owner, user_id=owner.user_id or 0, now=workshop.now)
    Competence.objects.filter(user_id=workshop.technician.user_id).update(valid_until=date(2026, 10, 1))

    mine, theirs = events(client, address), events(client, f"/calendar/{secret}.ics")

    overdue = [event for event in mine if "dtend" in event]
    assert theirs == overdue
    assert len(mine) == 3
