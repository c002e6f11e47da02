"""The records for the owner, and search from anywhere."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from jobs.models import Job
from shopcool.vehicles.models import Customer
from tests.jobs.browser import links, words

RECORDS = "/records/"


@pytest.fixture
def closed(bay):
    """A closed job of a customer."""
    bay.up_to_purge()
    bay.workshop.purge(bay.machine, bay.hoses)
    job = bay.close()
    vehicle = job.circuit.vehicle
    vehicle.customer = Customer.objects.create(name="Amara Bello")
    vehicle.vin = "1M8GDM9AXKP042788"
    vehicle.save()
    return job


class TestRecords:
    def test_list_the_closed_jobs_of_the_last_months(self, closed, owner_tablet):
        text = words(owner_tablet.open(RECORDS))

        assert closed.number in text
        assert "Jobs closed 1" in text
        assert "verify_records" in text

    def test_lead_to_overrides_and_incidents(self, closed, owner_tablet):
        page = owner_tablet.open(RECORDS)

        assert {reverse("equipment:overrides"), reverse("equipment:incidents")} <= set(links(page))

    def test_of_another_period_are_empty(self, closed, owner_tablet):
        page = owner_tablet.open(f"{RECORDS}?first=2025-01-01&last=2025-02-01&q=")

        assert "No job was closed in this period" in words(page)

    def test_include_the_whole_last_day(self, closed, owner_tablet):
        day = closed.closed_at.date()

        assert closed.number in words(owner_tablet.open(f"{RECORDS}?first={day}&last={day}&q="))

    @pytest.mark.parametrize(("query", "found"), [("amara", True), ("sc001", True), ("nobody", False)])
    def test_are_searched_by_car_customer_and_job(self, closed, owner_tablet, query, found):
        text = words(owner_tablet.open(f"{RECORDS}?first=&last=&q={query}"))

        assert (closed.number in text) is found

    def test_of_a_period_that_ends_before_it_begins_say_so(self, closed, owner_tablet):
        page = owner_tablet.open(f"{RECORDS}?first=2026-03-02&last=2026-03-01&q=", status=422)

        assert "The period ends before it begins." in words(page)

    def test_come_in_pages(self, closed, owner_tablet):
        for number in range(30):
            Job.objects.create(
                number=f"J-x{number}", circuit=closed.circuit, service=closed.service, status=closed.status,
                booked_for=closed.booked_for, booked_by=closed.booked_by,
                closed_at=closed.closed_at + timedelta(minutes=number),
            )  # fmt: skip

        assert "Page 1 of 2" in words(owner_tablet.open(RECORDS))
        assert closed.number in words(owner_tablet.open(f"{RECORDS}?page=2"))

    @pytest.mark.parametrize("who", ["technician_tablet", "desk_tablet", "outsider_tablet"])
    def test_are_for_the_owner(self, bay, request, who):
        request.getfixturevalue(who).open(RECORDS, status=403)


class TestSearch:
    @pytest.mark.parametrize("query", ["SC 001", "sc-001", "1m8gdm9axkp042788", "KP042788", "bello amara"])
    def test_finds_the_vehicle_and_its_job_by_plate_vin_and_customer(self, closed, desk_tablet, query):
        page = desk_tablet.open(f"/search/?q={query}")

        assert reverse("vehicles:detail", args=[closed.circuit.vehicle_id]) in links(page)
        assert reverse("jobs:job", args=[closed.number]) in links(page)

    @pytest.mark.parametrize("query", ["h-1", "H1", "piece h-1"])
    def test_finds_a_piece_by_code_and_name(self, bay, desk_tablet, query):
        page = desk_tablet.open(f"/search/?q={query}")

        assert reverse("equipment:piece", args=["H-1"]) in links(page)

    def test_finds_a_job_by_its_number(self, bay, desk_tablet):
        page = desk_tablet.open(f"/search/?q={bay.job.number.lower()}")

        assert reverse("jobs:job", args=[bay.job.number]) in links(page)

    @pytest.mark.parametrize("query", ["", "   ", "%", "---", "' OR 1=1", "\\", "<script>"])
    def test_of_nothing_findable_is_empty_and_harmless(self, bay, desk_tablet, query):
        page = desk_tablet.client.get("/search/", {"q": query})

        assert page.status_code == 200
        assert reverse("jobs:job", args=[bay.job.number]) not in links(page)
        assert "<script>alert" not in page.content.decode()

    def test_without_a_find_offers_to_book_it_as_a_new_car(self, bay, desk_tablet):
        page = desk_tablet.open("/search/?q=ZZ 77")

        assert "Nothing has this name" in words(page)
        assert "/jobs/new/?q=ZZ%2077" in links(page)

    def test_stands_on_every_page(self, bay, desk_tablet):
        assert desk_tablet.form(desk_tablet.open("/"), "/search/") == {"q": ""}

    def test_is_not_for_an_outsider(self, bay, outsider_tablet):
        outsider_tablet.open("/search/?q=SC", status=403)
