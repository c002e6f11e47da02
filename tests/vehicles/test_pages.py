"""The pages of vehicles: lists, forms that keep what was typed, questions that people answer."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from shopcool.people.models import User
from shopcool.vehicles.models import Circuit, Vehicle
from tests.people_fixtures import SignedIn
from tests.sending import as_sent
from tests.vehicles.fixtures import PUBLISHED_VIN, TYPED, car


class TestNewVehicle:
    def test_is_entered_with_its_circuit(self, front_desk: User, signed_in: SignedIn) -> None:
        answer = signed_in(front_desk).post("/vehicles/new/", TYPED)

        vehicle = Vehicle.objects.get()
        circuit = vehicle.circuits.get()
        assert answer.headers["Location"] == f"/vehicles/{vehicle.pk}/"
        assert (vehicle.vin, str(vehicle.customer)) == (PUBLISHED_VIN, "Ines Falk")
        assert circuit.charge_kg == pytest.approx(0.55)
        assert circuit.tolerance_kg == pytest.approx(0.02)
        assert (circuit.charge_typed, circuit.oil_typed) == ("0,55 kg ± 20 g", "120 ml")
        assert circuit.working_voltage_v == 400.0

    def test_sent_twice_is_one_vehicle(self, technician: User, signed_in: SignedIn) -> None:
        client = signed_in(technician)
        sent = {**TYPED, "submission_key": str(uuid4())}

        answers = [client.post("/vehicles/new/", sent) for _ in range(2)]

        assert answers[0].headers["Location"] == answers[1].headers["Location"]
        assert Vehicle.objects.count() == 1

    @pytest.mark.parametrize(
        ("field", "typed", "sentence"),
        [
            ("charge", "0,55", "“0,55” is not plausible: 50 g to 30000 g. Check number and unit."),
            ("charge", "1,234", "“1,234” can mean 1.234 or 1234: type it as 1.234 or as 1234."),
            ("charge", "sNaN", "“sNaN” is missing or not a number."),
            ("oil", "5 oz", "“oz” is not one volume: write “US fl oz” (29.57 ml)"),
            ("oil", "inf", "“inf” is missing or not a number."),
            ("working_voltage", "1e400", "“1e400” is missing or not a number."),
            ("working_voltage", "4000", "“4000” is not plausible: 6.0 V to 1500.0 V."),
            ("registration", "W" * 400, "at most 20 characters"),
            ("vin", "JTD", "3 characters: a vehicle identification number has 17."),
            ("vin_reason", "", "11 characters instead of 17"),
            ("drive", "", "This field is required."),
        ],
    )
    def test_shows_each_refusal_beside_its_field_and_keeps_what_was_typed(
        self, technician: User, signed_in: SignedIn, field: str, typed: str, sentence: str
    ) -> None:
        short_number = {"vin": "1138612O574"} if field == "vin_reason" else {}

        answer = signed_in(technician).post("/vehicles/new/", {**TYPED, **short_number, field: typed})

        page = answer.content.decode()
        assert answer.status_code == 422
        assert list(answer.context["form"].errors) == [field]
        assert sentence in answer.context["form"].errors[field][0]
        assert not typed or f'value="{typed}"' in page
        assert 'value="Ines Falk"' in page
        assert Vehicle.objects.count() == 0

    def test_offers_digits_for_letters_and_takes_them_when_told(
        self, technician: User, signed_in: SignedIn
    ) -> None:
        client = signed_in(technician)
        sent = {**TYPED, "vin": "IG4AH59H45G118341"}

        asked = client.post("/vehicles/new/", sent)
        answered = client.post("/vehicles/new/", {**sent, "accepted_vin": asked.context["suggestion"]})

        assert f'name="accepted_vin" value="{PUBLISHED_VIN}"' in asked.content.decode()
        assert 'value="IG4AH59H45G118341"' in asked.content.decode()
        assert answered.status_code == 302
        assert Vehicle.objects.get().vin == PUBLISHED_VIN

    def test_takes_the_enter_key_for_no_answer(self, technician: User, signed_in: SignedIn) -> None:
        asked = signed_in(technician).post("/vehicles/new/", {**TYPED, "vin": "IG4AH59H45G118341"})

        form = asked.content.decode().split('data-draft="vehicle-new"')[1]
        first_button = form.split("<button")[1].split(">")[0]
        assert 'type="submit"' in first_button
        assert "name=" not in first_button

    def test_leads_to_the_vehicle_that_has_the_number(
        self, technician: User, signed_in: SignedIn, now: datetime
    ) -> None:
        known = car(technician, now, vin=PUBLISHED_VIN, registration="B-XY 77")

        answer = signed_in(technician).post("/vehicles/new/", TYPED)

        assert answer.status_code == 422
        assert f'href="/vehicles/{known.pk}/"' in answer.content.decode()
        assert "same_registration" not in answer.content.decode().split("<h2")[0]

    def test_asks_about_a_known_plate(self, technician: User, signed_in: SignedIn, now: datetime) -> None:
        car(technician, now)
        client = signed_in(technician)

        asked = client.post("/vehicles/new/", TYPED)
        answered = client.post("/vehicles/new/", {**TYPED, "same_registration": "on"})

        assert 'name="same_registration" value="on"' in asked.content.decode()
        assert answered.status_code == 302
        assert Vehicle.objects.count() == 2

    def test_never_shows_a_script_that_was_typed(self, technician: User, signed_in: SignedIn) -> None:
        answer = signed_in(technician).post(
            "/vehicles/new/", {**TYPED, "make": "<script>alert(1)</script>", "drive": ""}
        )

        assert "<script>alert" not in answer.content.decode()


class TestVehiclePage:
    def test_shows_label_data_sources_and_what_is_missing(
        self, technician: User, signed_in: SignedIn, now: datetime
    ) -> None:
        vehicle = car(technician, now)

        page = signed_in(technician).get(f"/vehicles/{vehicle.pk}/").content.decode()

        assert "Label charge" in page
        assert "not known" in page
        assert "The circuit can&#x27;t be charged, and a weighing can&#x27;t be judged." in page
        assert "Timo Lindqvist" in page

    def test_warns_of_disagreeing_ounces_and_overwrites_nothing(
        self, technician: User, signed_in: SignedIn
    ) -> None:
        client = signed_in(technician)
        client.post("/vehicles/new/", {**TYPED, "charge": "465–515 g {16.5–18.1 oz}"})

        page = client.get(f"/vehicles/{Vehicle.objects.get().pk}/").content.decode()

        assert "490 g ± 25 g" in page
        assert "entered as 465–515 g {16.5–18.1 oz}" in page
        assert "465–515 g rules." in page

    def test_asks_the_database_no_more_for_more_entries(
        self, technician: User, signed_in: SignedIn, now: datetime, django_assert_num_queries: Any
    ) -> None:
        vehicle = car(technician, now)
        client = signed_in(technician)
        client.get(f"/vehicles/{vehicle.pk}/")
        circuit = {key: TYPED[key] for key in ("drive", "refrigerant", "lubricant", "metering", "charge")}
        for number in range(6):
            client.post(f"/vehicles/{vehicle.pk}/circuits/new/", {**circuit, "name": f"Zone {number}"})
        assert vehicle.circuits.count() == 7

        # session, user, shop, reminders, vehicle with customer, circuits, entries, same plate,
        # photos, oil over the visits
        with django_assert_num_queries(10):
            client.get(f"/vehicles/{vehicle.pk}/")


class TestCircuitForm:
    def test_comes_back_as_it_was_typed(self, technician: User, signed_in: SignedIn) -> None:
        client = signed_in(technician)
        client.post("/vehicles/new/", {**TYPED, "oil": "4.9", "oil_unit": "US fl oz"})
        circuit = Vehicle.objects.get().circuits.get()

        form = client.get(f"/vehicles/circuits/{circuit.pk}/edit/").context["form"]

        assert 'value="0,55 kg ± 20 g"' in str(form["charge"])
        assert 'value="4.9"' in str(form["oil"])
        assert '<option value="US fl oz" selected>' in str(form["oil"])

    @pytest.mark.parametrize(
        ("wanted", "target"),
        [("/jobs/J-7/", "/jobs/J-7/"), ("//example.org", "/vehicles/{}/"), ("", "/vehicles/{}/")],
    )
    def test_goes_back_to_where_the_person_came_from(
        self, technician: User, signed_in: SignedIn, wanted: str, target: str
    ) -> None:
        client = signed_in(technician)
        client.post("/vehicles/new/", TYPED)
        circuit = Vehicle.objects.get().circuits.get()

        answer = client.post(f"/vehicles/circuits/{circuit.pk}/edit/", {**TYPED, "next": wanted})

        assert answer.headers["Location"] == target.format(circuit.vehicle_id)

    def test_saved_unchanged_means_the_same(self, technician: User, signed_in: SignedIn) -> None:
        client = signed_in(technician)
        client.post("/vehicles/new/", TYPED)
        circuit = Vehicle.objects.get().circuits.get()

        client.post(f"/vehicles/circuits/{circuit.pk}/edit/", TYPED)

        again = Vehicle.objects.get().circuits.get()
        for column in ("charge_kg", "charge_typed", "oil_m3", "oil_typed", "working_voltage_v"):
            assert getattr(again, column) == getattr(circuit, column)

    def test_opened_and_saved_twenty_times_by_people_with_other_units_changes_nothing(
        self, technician: User, owner: User, signed_in: SignedIn
    ) -> None:
        User.objects.filter(pk=owner.pk).update(mass_unit="oz", volume_unit="US fl oz")
        readers = [signed_in(technician), signed_in(owner)]
        odd = {"charge": "17.75 oz ± 0,7 oz", "oil": "120.3 cm³", "working_voltage": "355.0625"}
        readers[0].post("/vehicles/new/", TYPED | odd)
        (first,) = Circuit.objects.values()
        address = f"/vehicles/circuits/{first['id']}/edit/"

        for number in range(20):
            form = readers[number % 2].get(address).context["form"]
            assert readers[number % 2].post(address, as_sent(form)).status_code == 302

        assert Circuit.objects.values().get() == first

    @pytest.mark.parametrize(
        ("who", "status"), [("owner", 200), ("technician", 200), ("front_desk", 403), ("outsider", 404)]
    )
    def test_is_the_technicians_and_the_owners(
        self,
        who: str,
        status: int,
        technician: User,
        request: pytest.FixtureRequest,
        signed_in: SignedIn,
        now: datetime,
    ) -> None:
        circuit = car(technician, now).circuits.get()
        client = signed_in(request.getfixturevalue(who))

        assert client.get(f"/vehicles/circuits/{circuit.pk}/edit/").status_code == status


class TestUnits:
    def test_are_those_of_whoever_looks_with_the_label_as_it_was_typed(
        self, technician: User, owner: User, signed_in: SignedIn
    ) -> None:
        """NIST SP 811:2008: 1 oz = 28.349 523 125 g and 1 US fl oz = 29.573 53 ml, so 550 g = 19.40 oz."""
        User.objects.filter(pk=owner.pk).update(mass_unit="oz", volume_unit="US fl oz")
        signed_in(technician).post("/vehicles/new/", TYPED)
        address = f"/vehicles/{Vehicle.objects.get().pk}/"

        theirs, ours = (signed_in(user).get(address).content.decode() for user in (owner, technician))

        assert all(told in theirs for told in ("19.40 oz ± 0.71 oz", "4.06 US fl oz", "0,55 kg ± 20 g"))
        assert all(told in ours for told in ("550 g ± 20 g", "120 ml", "0,55 kg ± 20 g"))


class TestList:
    def test_says_what_to_do_first(self, technician: User, signed_in: SignedIn) -> None:
        assert "No vehicle yet." in signed_in(technician).get("/vehicles/").content.decode()

    def test_says_when_nothing_is_found(self, technician: User, signed_in: SignedIn, now: datetime) -> None:
        car(technician, now)

        page = signed_in(technician).get("/vehicles/?q=zz<b>").content.decode()

        assert "Nothing is called “zz&lt;b&gt;”." in page

    def test_is_found_by_plate_and_paged(self, technician: User, signed_in: SignedIn, now: datetime) -> None:
        for number in range(27):
            car(technician, now, registration=f"HB-Q {number}")
        client = signed_in(technician)

        assert len(client.get("/vehicles/?q=hbq1").context["page"].object_list) == 11
        assert len(client.get("/vehicles/?page=2").context["page"].object_list) == 2

    def test_asks_the_database_no_more_for_more_vehicles(
        self, technician: User, signed_in: SignedIn, now: datetime, django_assert_num_queries: Any
    ) -> None:
        client = signed_in(technician)
        client.get("/vehicles/")
        for number in range(20):
            car(technician, now, registration=f"HB-Q {number}")

        # session, user, shop, count, vehicles with customers, circuits
        with django_assert_num_queries(7):
            client.get("/vehicles/")

    @pytest.mark.parametrize(("page", "status"), [("/vehicles/", 403), ("/vehicles/new/", 403)])
    def test_is_closed_to_an_outsider(
        self, outsider: User, signed_in: SignedIn, page: str, status: int
    ) -> None:
        assert signed_in(outsider).get(page).status_code == status

    def test_hides_a_vehicle_from_an_outsider(
        self, technician: User, outsider: User, signed_in: SignedIn, now: datetime
    ) -> None:
        vehicle = car(technician, now)

        for page in (f"/vehicles/{vehicle.pk}/", f"/vehicles/{vehicle.pk}/edit/"):
            assert signed_in(outsider).get(page).status_code == 404

    def test_asks_a_stranger_to_sign_in(self, client: Client, db: None) -> None:
        assert client.get("/vehicles/?q=ab").headers["Location"] == "/sign-in/?next=/vehicles/%3Fq%3Dab"
