"""Keeping vehicles: numbers are checked and never changed silently, plates and forms come twice."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import uuid4

import pytest

from shopcool.core.errors import DomainError, NotAllowed
from shopcool.people.models import User
from shopcool.vehicles.data import CustomerData, VehicleData
from shopcool.vehicles.models import Customer, Vehicle
from shopcool.vehicles.notices import vin_notices
from shopcool.vehicles.selectors import vehicles_matching, vehicles_visible_to
from shopcool.vehicles.services.vehicles import (
    PlateKnown,
    VinSuggested,
    VinTaken,
    vehicle_create,
    vehicle_update,
)
from tests.vehicles.fixtures import BELT_CIRCUIT, CAR, PUBLISHED_VIN, car


class TestVin:
    # Check digits: 49 CFR 565.15(c), table VI; NHTSA outline of 49 CFR 565, example 1J9RP1A36A1644345.
    @pytest.mark.parametrize(
        ("typed", "kept"),
        [
            (PUBLISHED_VIN, PUBLISHED_VIN),
            ("1J9RP1A36A1644345", "1J9RP1A36A1644345"),
            (" 1g4ah59h4 5g118341 ", PUBLISHED_VIN),
        ],
    )
    def test_is_kept_normalised(self, technician: User, now: datetime, typed: str, kept: str) -> None:
        vehicle = car(technician, now, vin=typed, model_year=None)

        assert vehicle.vin == kept
        assert vin_notices(vehicle) == []

    @pytest.mark.parametrize(
        ("vin", "sentence"),
        [
            ("1G4AH59H55G118341", "Position 9 should be 4, not 5"),
            ("11111111111111111", "Seventeen equal characters are hardly a vehicle"),
            ("WVGZZZ5NZEW000123", "not built for North America"),
        ],
    )
    def test_warns_and_never_rejects(self, technician: User, now: datetime, vin: str, sentence: str) -> None:
        vehicle = car(technician, now, vin=vin)

        assert vehicle.vin == vin
        assert sentence in vin_notices(vehicle)[0].message

    def test_suggests_digits_for_letters_and_stores_nothing(self, technician: User, now: datetime) -> None:
        with pytest.raises(VinSuggested, match=f"I, O and Q are not used. Is it {PUBLISHED_VIN}") as asked:
            car(technician, now, vin="IG4AH59H45G118341")

        assert asked.value.details == {"suggestion": PUBLISHED_VIN}
        assert Vehicle.objects.count() == 0

    def test_of_before_1981_needs_a_reason(self, technician: User, now: datetime) -> None:
        with pytest.raises(DomainError, match="11 characters instead of 17") as refused:
            car(technician, now, vin="1138612O574", model_year=1968)
        assert refused.value.field == "vin_reason"

        vehicle = car(technician, now, vin="1138612O574", vin_reason="Built 1968", model_year=1968)
        assert (vehicle.vin, vehicle.vin_reason) == ("1138612O574", "Built 1968")

    def test_belongs_to_one_vehicle(self, technician: User, now: datetime) -> None:
        first = car(technician, now, vin=PUBLISHED_VIN)

        with pytest.raises(VinTaken, match="This number belongs to HB-AC 214 Nordwind Kestrel") as refused:
            car(technician, now, vin=PUBLISHED_VIN.lower(), registration="HB-X 1")
        assert refused.value.details == {"vehicle_id": first.pk}

    def test_may_be_unknown_for_many(self, technician: User, now: datetime) -> None:
        car(technician, now)
        car(technician, now, registration="HB-X 1")

        assert Vehicle.objects.filter(vin="").count() == 2

    def test_is_compared_with_the_model_year(self, technician: User, now: datetime) -> None:
        vehicle = car(technician, now, vin=PUBLISHED_VIN, model_year=2011)

        assert "speaks of model year 2005, entered is 2011" in vin_notices(vehicle)[0].message


class TestVehicleCreate:
    def test_keeps_vehicle_circuit_and_customer(self, front_desk: User, now: datetime) -> None:
        vehicle = car(front_desk, now, customer=CustomerData("Ines  Falk", "0421 555 0138"))

        assert str(vehicle.customer) == "Ines Falk"
        assert [circuit.name for circuit in vehicle.circuits.all()] == ["A/C"]

    @pytest.mark.parametrize("who", ["technician", "front_desk", "owner"])
    def test_is_everybodys_who_works_here(
        self, who: str, request: pytest.FixtureRequest, now: datetime
    ) -> None:
        assert car(request.getfixturevalue(who), now).pk is not None

    def test_is_refused_to_an_outsider(self, outsider: User, now: datetime) -> None:
        with pytest.raises(NotAllowed, match="You may not do this"):
            car(outsider, now)
        assert Vehicle.objects.count() == 0

    def test_of_a_form_sent_twice_is_one_vehicle(self, technician: User, now: datetime) -> None:
        sent: dict[str, Any] = {"data": CAR, "circuit": BELT_CIRCUIT, "submission_key": uuid4(), "now": now}

        first = vehicle_create(actor=technician.as_actor(), **sent)
        second = vehicle_create(actor=technician.as_actor(), **sent)

        assert first == second
        assert first.circuits.count() == 1

    def test_asks_about_a_plate_that_is_known_however_it_is_spaced(
        self, technician: User, now: datetime
    ) -> None:
        first = car(technician, now)

        with pytest.raises(PlateKnown, match="HB-AC 214 Nordwind Kestrel has this plate already") as asked:
            car(technician, now, registration="hb ac214")
        assert asked.value.details == {"vehicle_id": first.pk}

    def test_takes_the_answer_that_it_is_another_vehicle(self, technician: User, now: datetime) -> None:
        car(technician, now)

        car(technician, now, registration="hb ac214", same_registration=True)

        assert Vehicle.objects.count() == 2

    @pytest.mark.parametrize(
        ("wrong", "sentence"),
        [
            ({"registration": " "}, "Write 1 to 20 characters"),
            ({"make": "x" * 400}, "Write 1 to 60 characters"),
            ({"model_year": 1899}, "A model year from 1900 to 2028"),
            ({"model_year": 2029}, "A model year from 1900 to 2028"),
            ({"vin": "ABC"}, "3 characters: a vehicle identification number has 17"),
            ({"vin": "1G4AH59H45G11834Ü"}, "only letters A to Z and digits"),
            ({"vin": "9" * 400}, "too long"),
            ({"customer": CustomerData(" ", "0421")}, "A customer has a name"),
        ],
    )
    def test_refuses_what_is_no_vehicle(
        self, technician: User, now: datetime, wrong: dict[str, Any], sentence: str
    ) -> None:
        with pytest.raises(DomainError, match=sentence):
            car(technician, now, **wrong)
        assert (Vehicle.objects.count(), Customer.objects.count()) == (0, 0)


class TestCustomers:
    def test_are_recognised_by_name_and_phone(self, technician: User, now: datetime) -> None:
        first = car(technician, now, customer=CustomerData("Ines Falk", "0421 555 0138"))
        second = car(technician, now, registration="HB-X 1", customer=CustomerData("ines falk", ""))

        assert first.customer == second.customer

    def test_of_the_same_name_with_another_phone_are_two(self, technician: User, now: datetime) -> None:
        first = car(technician, now, customer=CustomerData("Ines Falk", "0421 555 0138"))
        second = car(technician, now, registration="HB-X 1", customer=CustomerData("Ines Falk", "030 1"))

        assert first.customer != second.customer


class TestVehicleUpdate:
    def update(self, actor: User, vehicle: Vehicle, data: VehicleData, now: datetime) -> Vehicle:
        return vehicle_update(actor=actor.as_actor(), vehicle_id=vehicle.pk, data=data, now=now)

    def test_keeps_its_own_plate_and_number(self, technician: User, now: datetime) -> None:
        vehicle = car(technician, now, vin=PUBLISHED_VIN)

        changed = self.update(technician, vehicle, replace(CAR, vin=PUBLISHED_VIN, model="Kestrel S"), now)

        assert (changed.model, changed.vin) == ("Kestrel S", PUBLISHED_VIN)

    def test_refuses_the_number_of_another_vehicle(self, technician: User, now: datetime) -> None:
        car(technician, now, vin=PUBLISHED_VIN)
        other = car(technician, now, registration="HB-X 1")

        with pytest.raises(VinTaken, match="belongs to HB-AC 214"):
            self.update(technician, other, replace(CAR, registration="HB-X 1", vin=PUBLISHED_VIN), now)

    def test_is_refused_to_an_outsider(self, technician: User, outsider: User, now: datetime) -> None:
        with pytest.raises(NotAllowed, match="You may not do this"):
            self.update(outsider, car(technician, now), CAR, now)


class TestSearch:
    @pytest.mark.parametrize(
        "query", ["hbac214", "HB-AC 214", "ac 21", "1g4ah59h45", "falk", "kestrel falk", "NORD"]
    )
    def test_finds_by_what_somebody_remembers(self, technician: User, now: datetime, query: str) -> None:
        wanted = car(technician, now, vin=PUBLISHED_VIN, customer=CustomerData("Ines Falk"))
        car(technician, now, registration="DD-ZZ 9", make="Anders", model="Tern")

        found = vehicles_matching(vehicles_visible_to(technician.as_actor()), query)

        assert list(found) == [wanted]

    @pytest.mark.parametrize("query", ["%", "_", "zzz", "kestrel zzz", "'; DROP TABLE", "x" * 400])
    def test_finds_nothing_by_anything_else(self, technician: User, now: datetime, query: str) -> None:
        car(technician, now)

        assert list(vehicles_matching(vehicles_visible_to(technician.as_actor()), query)) == []

    def test_shows_an_outsider_nothing(self, technician: User, outsider: User, now: datetime) -> None:
        car(technician, now)

        assert list(vehicles_visible_to(outsider.as_actor())) == []
