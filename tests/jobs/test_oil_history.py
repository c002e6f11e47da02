"""The page of a vehicle shows the oil in its circuit over its visits, as far as anybody measured it."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.choices import StepKind
from jobs.models import StepRecord
from jobs.oil_history import oil_of_circuits
from jobs.services.steps import step_correct
from shopcool.people.models import User
from shopcool.vehicles.models import Circuit
from tests.api.test_reading import client_of
from tests.jobs.bay import Bay
from tests.jobs.browser import Tablet, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def serviced(bay: Bay) -> Bay:
    """A visit on which 8 ml came out of 120 ml and, once corrected, 15 ml went into a part."""
    Circuit.objects.update(oil_m3=120e-6)
    bay.up_to_connection()
    bay.record(StepKind.READINGS_BEFORE)
    bay.record(StepKind.INSULATION)
    bay.record(StepKind.RECOVERY, oil_end="8 ml")
    bay.record(StepKind.EVACUATION)
    added = {"added": "yes", "way": "WITH_PART", "oil": "POE", "grade": "POE 68", "amount": "20 ml"}
    correct(bay, bay.record(StepKind.OIL, **added), added | {"amount": "15 ml"})
    return bay


def told(bay: Bay, tablet: Tablet) -> str:
    page = words(tablet.open(reverse("vehicles:detail", args=[bay.job.circuit.vehicle_id])))
    return page[page.index("Oil in the circuit over its visits") :]


class TestVehiclePage:
    def test_shows_estimate_events_and_assumptions(self, serviced: Bay, technician_tablet: Tablet) -> None:
        page = told(serviced, technician_tablet)

        # 120 − 8 + 15 = 127 ml
        assert "Inside by estimate 127 ml 8 ml came out and 15 ml went in" in page
        assert f"{serviced.job.number} Added into a new part +15 ml 127 ml" in page
        assert "Came out with the refrigerant −8 ml" in page
        assert "The circuit held what its label says when it first came." in page

    def test_shows_nothing_before_the_first_visit(self, bay: Bay, technician_tablet: Tablet) -> None:
        page = technician_tablet.open(reverse("vehicles:detail", args=[bay.job.circuit.vehicle_id]))

        assert "over its visits" not in words(page)

    def test_agrees_with_the_api_and_asks_the_database_once_for_all_circuits(self, serviced: Bay) -> None:
        with CaptureQueriesContext(connection) as queries:
            oil = oil_of_circuits([serviced.job.circuit, serviced.workshop.circuit()])
        assert len([query for query in queries if "jobs_steprecord" in query["sql"]]) == 1
        program = client_of(User.objects.get(username="tilda"))
        answer = program.get(reverse("api:circuit_oil", args=[serviced.job.circuit_id])).json()
        assert answer["estimate_m3"] == pytest.approx(127e-6)
        assert [event["change_m3"] for event in answer["events"]] == pytest.approx([-8e-6, 15e-6])
        assert [len(one.events) for one in oil.values()] == [2, 0]

    def test_names_what_nobody_measured(self, serviced: Bay, technician_tablet: Tablet) -> None:
        recovery = serviced.job.records.get(kind=StepKind.RECOVERY)

        correct(serviced, recovery, serviced.raw(StepKind.RECOVERY, oil_end=""))

        page = told(serviced, technician_tablet)
        assert "Inside by estimate 135 ml" in page
        assert f"{serviced.job.number}: the oil that came out with the refrigerant" in page
        assert "Came out with the refrigerant not measured" in page


def correct(bay: Bay, record: StepRecord, raw: dict[str, str]) -> None:
    step_correct(
        actor=bay.workshop.owner,
        record=record,
        raw=raw,
        reason="misread",
        idempotency_key=uuid4(),
        now=bay.workshop.later(),
    )
