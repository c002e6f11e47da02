"""The REST doors that keep vehicles: the same services as the pages, with the maker's oil rule."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import uuid4

import pytest
from django.urls import reverse
from rest_framework.response import Response

from shopcool.people.models import User
from shopcool.vehicles.models import Circuit, CircuitEntry, Vehicle
from shopcool.vehicles.services.circuits import circuit_update
from tests.api.test_reading import client_of
from tests.vehicles.fixtures import car
from tests.vehicles.test_circuits import ELECTRIC

RULE = "source workshop manual, page 12\nnew compressor holds 120\npart condenser 30"
SENT: dict[str, Any] = {
    "registration": "KO-YF 14",
    "make": "Nordwind",
    "model": "Petrel",
    "customer_name": "Ines Falk",
    "circuit": {"drive": "ELECTRIC_HV", "lubricant": "POE", "charge": "0,55 kg", "oil_rule": RULE},
}


@pytest.fixture
def circuit(technician: User, now: datetime) -> Circuit:
    """A circuit with everything that its label says."""
    circuit = car(technician, now).circuits.get()
    return circuit_update(actor=technician.as_actor(), circuit_id=circuit.pk, data=ELECTRIC, now=now)


def patch(user: User, circuit: Circuit, **values: Any) -> Response:
    return client_of(user).patch(reverse("api:circuit", args=[circuit.pk]), values, format="json")


class TestCircuit:
    def test_takes_the_oil_rule_and_keeps_everything_else(self, technician: User, circuit: Circuit) -> None:
        before = circuit.entries.latest("sequence").values

        answer = patch(technician, circuit, oil_rule=RULE)

        assert (answer.status_code, answer.json()["oil_rule"]) == (200, RULE)
        assert circuit.entries.latest("sequence").values == before | {"oil_rule": RULE}
        read = client_of(technician).get(reverse("api:vehicle", args=[circuit.vehicle_id])).json()
        assert read["circuits"][0]["oil_rule"] == RULE

    @pytest.mark.parametrize(
        ("values", "field", "sentence"),
        [
            ({"oil_rule": "new compressor holds 120"}, "oil_rule", "source"),
            ({"oil_rule": "source page 12\npart condenser 1 oz"}, "oil_rule", "ounces"),
            ({"oil": "4 oz"}, "oil", "US fl oz"),
            ({"drive": "STEAM"}, "drive", "STEAM"),
            ({"no_dye": True}, "maker_source", "Say where the vehicle maker asks for it"),
        ],
    )
    def test_refuses_like_its_form(
        self, technician: User, circuit: Circuit, values: dict[str, Any], field: str, sentence: str
    ) -> None:
        entries = CircuitEntry.objects.count()

        answer = patch(technician, circuit, **values)

        assert answer.status_code == 400
        assert sentence in str(answer.json()["fields"][field])
        assert CircuitEntry.objects.count() == entries

    def test_is_changed_by_technicians_and_owners_only(
        self, technician: User, front_desk: User, outsider: User, circuit: Circuit
    ) -> None:
        answers = {user: patch(user, circuit, oil_rule=RULE) for user in (outsider, front_desk, technician)}

        assert [answer.status_code for answer in answers.values()] == [404, 403, 200]


class TestVehicle:
    def test_is_entered_once_with_its_circuit(self, front_desk: User) -> None:
        program, sent = client_of(front_desk), SENT | {"submission_key": str(uuid4())}

        answers = [program.post(reverse("api:vehicles"), sent, format="json") for _ in range(2)]

        assert [answer.status_code for answer in answers] == [201, 201]
        vehicle = Vehicle.objects.get()
        assert answers[1].json()["id"] == vehicle.pk
        assert (vehicle.circuits.get().oil_rule, str(vehicle.customer)) == (RULE, "Ines Falk")

    def test_that_is_known_is_told(self, technician: User, circuit: Circuit) -> None:
        sent = SENT | {"registration": circuit.vehicle.registration}

        answer = client_of(technician).post(reverse("api:vehicles"), sent, format="json")

        assert (answer.status_code, answer.json()["code"]) == (409, "plate_known")
        assert answer.json()["details"] == {"vehicle_id": circuit.vehicle_id}

    def test_is_refused_to_an_outsider(self, outsider: User) -> None:
        answer = client_of(outsider).post(reverse("api:vehicles"), SENT, format="json")

        assert (answer.status_code, Vehicle.objects.exists()) == (403, False)
