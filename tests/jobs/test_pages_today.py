"""The list of the day, booking a car in, taking it in, and cancelling."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from jobs.choices import JobStatus, ServiceKind
from jobs.models import Job
from jobs.pages.today import day_url
from jobs.services.booking import Booking, job_book
from shopcool.shop.selectors import shop_get
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from shopcool.vehicles.models import Circuit, Customer, Vehicle
from tests.jobs.bay import BEFORE_CONNECTION
from tests.jobs.browser import links, words

TODAY = "/"
BOOK = "/jobs/new/"


def book(bay, hours=2.0, circuit=None, service=ServiceKind.AC_SERVICE):
    """Book another car."""
    booking = Booking(service, bay.workshop.now + timedelta(hours=hours))
    circuit = circuit or bay.workshop.circuit()
    return job_book(actor=bay.technician, circuit=circuit, booking=booking, now=bay.workshop.now)


class TestRows:
    def test_tell_car_drive_gas_oil_and_that_it_is_ready(self, bay, desk_tablet):
        bay.job.bay = "Bay 2"
        bay.job.save()

        text = words(desk_tablet.open(TODAY))

        assert "SC 001" in text
        assert "HV" in text
        assert "R-1234yf" in text
        assert "POE" in text
        assert "Bay 2" in text
        assert "Ready for it" in text

    def test_name_the_next_step_of_a_car_in_the_workshop(self, bay, desk_tablet):
        bay.checked_in()

        assert "Next: Label and complaint" in words(desk_tablet.open(TODAY))

    def test_say_what_is_not_known_with_the_way_to_enter_it(self, bay, technician_tablet):
        Circuit.objects.update(refrigerant=Refrigerant.UNKNOWN, charge_kg=None)

        page = technician_tablet.open(TODAY)

        assert "Not known yet: refrigerant, label charge" in words(page)
        assert reverse("vehicles:circuit_edit", args=[bay.job.circuit_id]) in links(page)

    def test_say_that_a_hose_set_needs_a_purge_before_the_electric_car(self, bay, technician_tablet):
        # Common practice: PAG residue keeps a hose set off high-voltage circuits until it is purged.
        belt = bay.workshop.circuit(drive=Drive.BELT, lubricant=Lubricant.PAG)
        bay.workshop.connect(belt, bay.hoses, job="J-0")
        bay.workshop.disconnect("J-0")

        assert "Needs a purged hose set: H-1" in words(technician_tablet.open(TODAY))

    def test_say_that_the_machine_is_on_another_car(self, bay, technician_tablet):
        bay.workshop.connect(bay.workshop.circuit(), bay.machine, bay.hoses, job="J-7")

        assert "Waits for M-1, now on J-7" in words(technician_tablet.open(TODAY))

    def test_say_what_blocks_a_car(self, bay, technician_tablet):
        bay.checked_in()
        for kind in BEFORE_CONNECTION:
            bay.record(kind)
        Circuit.objects.update(lubricant=Lubricant.UNKNOWN)

        assert "The oil class of this circuit is not known." in words(technician_tablet.open(TODAY))

    def test_say_which_closing_purge_is_due(self, bay, technician_tablet):
        bay.up_to_purge()

        assert "Needs the closing purge of H-1, M-1" in words(technician_tablet.open(TODAY))

    def test_stand_in_the_order_of_their_times(self, bay, technician_tablet):
        later, sooner = book(bay, 3), book(bay, 0.5)

        text = words(technician_tablet.open(TODAY))

        assert text.index(sooner.number) < text.index(bay.job.number) < text.index(later.number)

    def test_of_a_car_that_drives_badly_too_come_first(self, bay, desk_tablet):
        form = desk_tablet.form(desk_tablet.open(BOOK), "") | NEW | {"affects_driving": "on"}
        desk_tablet.send(BOOK, form)
        urgent = Job.objects.latest("pk")

        text = words(desk_tablet.open(TODAY))

        assert urgent.booked_for > bay.job.booked_for
        assert text.index(urgent.number) < text.index(bay.job.number)
        assert text.count("affects driving") == 1
        assert "affects driving" in words(desk_tablet.job(urgent))

    def test_show_times_of_the_workshop(self, bay, technician_tablet):
        shop = shop_get()
        shop.time_zone = "Asia/Kolkata"
        shop.save()

        # 2026-03-02 09:10 UTC is 14:40 in India (UTC+5:30).
        assert f"{bay.job.booked_for:%H:%M}" == "09:10"
        assert "14:40" in words(technician_tablet.open(TODAY))


class TestDays:
    def test_of_tomorrow_shows_what_is_booked_then(self, bay, desk_tablet):
        tomorrow = book(bay, 24)

        page = desk_tablet.open(day_url(tomorrow.booked_for))

        assert tomorrow.number in words(page)
        assert bay.job.number not in words(page)
        assert "Tomorrow 1" in words(page)

    def test_without_a_car_says_what_to_do_first(self, bay, desk_tablet):
        page = desk_tablet.open(day_url(bay.workshop.now + timedelta(days=3)))

        assert "No car on this day" in words(page)
        assert BOOK in links(page)

    @pytest.mark.parametrize("day", ["", "soon", "2026-02-30", "99999-01-01", "0001-01-01"])
    def test_that_is_none_shows_today(self, bay, desk_tablet, day):
        assert bay.job.number in words(desk_tablet.open(f"{TODAY}?day={day}"))

    def test_needs_the_same_queries_for_any_number_of_cars(
        self, bay, desk_tablet, django_assert_max_num_queries
    ):
        bay.up_to_connection()
        desk_tablet.open(TODAY)
        with django_assert_max_num_queries(25) as few:
            desk_tablet.open(TODAY)
        for number in range(10):
            book(bay, 1 + number / 10)
            bay.workshop.piece(f"H-{number + 20}")

        with django_assert_max_num_queries(25) as many:
            desk_tablet.open(TODAY)

        assert len(many) == len(few)


class TestVisits:
    def test_check_in_takes_the_car_in(self, bay, desk_tablet):
        response = desk_tablet.send(reverse("jobs:check_in", args=[bay.job.number]), {})

        assert response.status_code == 302
        bay.job.refresh_from_db()
        assert bay.job.status == JobStatus.CHECKED_IN

    def test_check_in_twice_says_where_the_car_is(self, bay, desk_tablet):
        for _attempt in range(2):
            desk_tablet.send(reverse("jobs:check_in", args=[bay.job.number]), {})

        assert "is not waiting: In the workshop." in words(desk_tablet.job(bay.job))

    def test_check_in_is_nothing_for_an_outsider(self, bay, outsider_tablet):
        response = outsider_tablet.send(reverse("jobs:check_in", args=[bay.job.number]), {})

        assert response.status_code == 404

    def test_cancelling_needs_a_reason_and_keeps_it(self, bay, desk_tablet):
        address = reverse("jobs:cancel", args=[bay.job.number])
        assert desk_tablet.send(address, {"reason": ""}).status_code == 422

        desk_tablet.send(address, {"reason": "Car was sold"})

        bay.job.refresh_from_db()
        assert bay.job.status == JobStatus.CANCELLED
        assert "Cancelled: Car was sold" in words(desk_tablet.job(bay.job))

    def test_cancelling_with_pieces_on_the_car_is_refused_in_a_sentence(self, bay, technician_tablet):
        bay.up_to_connection()

        response = technician_tablet.send(
            reverse("jobs:cancel", args=[bay.job.number]), {"reason": "Customer left"}
        )

        assert response.status_code == 422
        assert "Pieces are still on the vehicle: disconnect them first." in words(response)


NEW = {
    "registration": "sc 99", "make": "Example", "model": "Van", "drive": "BELT", "refrigerant": "UNKNOWN",
    "lubricant": "UNKNOWN", "service": "AC_SERVICE", "complaint": "warm", "booked_for": "2026-03-02T15:00",
    "bay": "Bay 1", "technician": "",
}  # fmt: skip
RULE = "source workshop manual, page 12\npart condenser 30"


class TestBooking:
    def test_of_a_new_car_keeps_car_and_visit(self, bay, desk_tablet):
        form = desk_tablet.form(desk_tablet.open(BOOK), "")

        response = desk_tablet.send(BOOK, form | NEW | {"customer_name": "Mira Sandoval", "oil_rule": RULE})

        job = Job.objects.latest("pk")
        assert response.status_code == 302
        assert response.url == day_url(job.booked_for)
        assert str(job.circuit.vehicle) == "SC 99 Example Van"
        assert (job.circuit.refrigerant, job.circuit.lubricant) == (Refrigerant.UNKNOWN, Lubricant.UNKNOWN)
        assert (job.complaint, job.bay, job.service) == ("warm", "Bay 1", ServiceKind.AC_SERVICE)
        assert job.circuit.oil_rule == RULE
        assert Customer.objects.get().name == "Mira Sandoval"

    def test_sent_twice_books_once(self, bay, desk_tablet):
        form = desk_tablet.form(desk_tablet.open(BOOK), "") | NEW

        responses = [desk_tablet.send(BOOK, form) for _ in range(2)]

        assert [response.status_code for response in responses] == [302, 302]
        assert Vehicle.objects.filter(registration="SC 99").count() == 1
        assert Job.objects.filter(circuit__vehicle__registration="SC 99").count() == 1

    def test_for_a_time_long_ago_keeps_everything_that_was_typed_and_no_car(self, bay, desk_tablet):
        response = desk_tablet.send(BOOK, NEW | {"booked_for": "2020-01-01T10:00"})

        assert response.status_code == 422
        assert "Book a vehicle for today or for a day of the coming year." in words(response)
        kept = desk_tablet.form(response, "")
        typed = {name: value for name, value in NEW.items() if name != "booked_for"}
        assert {name: kept[name] for name in typed} == typed
        assert not Vehicle.objects.filter(registration="SC 99").exists()

    def test_of_a_known_plate_asks_whether_it_is_another_car(self, bay, desk_tablet):
        response = desk_tablet.send(BOOK, NEW | {"registration": "SC001"})

        assert response.status_code == 422
        assert "has this plate already" in words(response)
        assert "Another vehicle had this plate before" in words(response)

    @pytest.mark.parametrize(
        ("changed", "sentence"),
        [
            ({"registration": "x" * 400}, "at most 20 characters"),
            ({"service": "INSULATION"}, "no high voltage: there is no insulation to check"),
            ({"drive": ""}, "This field is required."),
            ({"booked_for": "tomorrow"}, "Enter a valid date/time."),
        ],
    )
    def test_of_something_impossible_says_why_beside_the_field(self, bay, desk_tablet, changed, sentence):
        response = desk_tablet.send(BOOK, NEW | changed)

        assert response.status_code == 422
        assert sentence in words(response)
        assert Job.objects.count() == 1

    def test_finds_a_car_that_was_here_by_plate_in_any_spelling(self, bay, desk_tablet):
        found = desk_tablet.client.get(f"{BOOK}?q=sc-001", headers={"HX-Request": "true"})

        assert "<html" not in found.content.decode()
        assert f"{BOOK}?circuit={bay.job.circuit_id}" in links(found)

    def test_of_a_known_car_asks_only_for_the_visit(self, bay, desk_tablet):
        address = f"{BOOK}?circuit={bay.job.circuit_id}"
        form = desk_tablet.form(desk_tablet.open(address), "")
        assert "registration" not in form

        visit = {"service": "INSPECTION", "booked_for": "2026-03-03T09:00"}
        response = desk_tablet.send(address, form | visit)

        assert response.status_code == 302
        assert Job.objects.latest("pk").circuit == bay.job.circuit

    def test_of_a_car_that_is_not_there_is_not_found(self, bay, desk_tablet):
        desk_tablet.open(f"{BOOK}?circuit=999999", status=404)

    def test_is_not_for_an_outsider(self, bay, outsider_tablet):
        outsider_tablet.open(BOOK, status=403)
        outsider_tablet.open(TODAY, status=403)
