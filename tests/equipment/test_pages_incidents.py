"""Incidents and overrides: what has to be followed up, by whom, and how it ends."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from equipment.choices import IncidentStatus
from equipment.incidents import Incident
from equipment.services.exposures import contact_declare
from shopcool.people.models import User
from shopcool.vehicles.choices import Drive, Lubricant
from tests.equipment.page_text import words_of
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn

INCIDENTS = "/equipment/incidents/"


@pytest.fixture
def late(workshop_clock: Workshop) -> list[Incident]:
    """Two electric cars that a late entry shows should have been refused."""
    workshop = workshop_clock
    machine, hoses = workshop.machine(), workshop.piece("H-1")
    workshop.purge(machine, hoses)
    moment = workshop.later()
    for job in ("2026-0003", "2026-0004"):
        workshop.connect(workshop.circuit(), hoses, job=job)
        workshop.disconnect(job)
    contact_declare(
        actor=workshop.technician, piece_id=hoses.pk, occurred_at=moment, now=workshop.later(),
        circuit=workshop.circuit(Drive.BELT, Lubricant.PAG), note="Topped the van up",
    )  # fmt: skip
    return list(Incident.objects.order_by("pk"))


def page(incident: Incident) -> str:
    return reverse("equipment:incident", args=[incident.pk])


class TestList:
    def test_names_the_cars_with_open_ones_first(
        self, late: list[Incident], owner: User, signed_in: SignedIn
    ) -> None:
        browser = signed_in(owner)
        browser.post(page(late[1]), {"resolution": "Oil changed", "circuit_is_clean": "no"})

        words = words_of(browser.get(INCIDENTS))

        assert words.index("SC 001 Example Test") < words.index("SC 002 Example Test")
        assert "Open" in words
        assert "Closed" in words

    def test_of_nothing_says_what_appears_here(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        browser = signed_in(technician)

        assert "No incident" in words_of(browser.get(INCIDENTS))
        assert "No override" in words_of(browser.get(reverse("equipment:overrides")))

    def test_asks_the_same_number_of_questions_however_many_there_are(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop, browser, counts = workshop_clock, signed_in(technician), []
        hoses = workshop.piece("H-1")
        pages = (INCIDENTS, reverse("equipment:overrides"))
        for number in range(4):
            workshop.connect(
                workshop.circuit(), hoses, job=f"J-{number}", actor=workshop.owner, override_reason="Scrapped"
            )
            workshop.disconnect(f"J-{number}")
            with CaptureQueriesContext(connection) as queries:
                answers = [browser.get(address).status_code for address in pages]
            counts.append(len(queries))
            assert answers == [200, 200]

        assert counts[1] == counts[-1]


class TestIncident:
    def test_tells_the_late_entry_the_cars_concerned_and_every_reason(
        self, late: list[Incident], technician: User, signed_in: SignedIn
    ) -> None:
        response = signed_in(technician).get(page(late[0]))

        words = words_of(response)
        assert "SC 001 Example Test should have been refused on job 2026-0003" in words
        assert "H-1 holds residue of PAG, which conducts" in words
        assert "SC 002 Example Test" in words
        assert "Topped the van up" in words
        assert "Recorded late" in words
        assert page(late[1]) in response.content.decode()
        assert "Only the owner closes an incident." in words

    def test_is_closed_by_the_owner_with_what_was_done(
        self, late: list[Incident], owner: User, signed_in: SignedIn
    ) -> None:
        data = {"resolution": "Compressor and oil replaced", "circuit_is_clean": "yes"}

        response = signed_in(owner).post(page(late[0]), data, follow=True)

        closed = Incident.objects.select_related("circuit").get(pk=late[0].pk)
        assert (closed.status, closed.closed_by) == (IncidentStatus.CLOSED, owner)
        assert closed.circuit.suspected_lubricants == []
        assert "What was done: Compressor and oil replaced" in words_of(response)

    def test_keeps_the_warning_on_the_car_when_nobody_knows(
        self, late: list[Incident], owner: User, signed_in: SignedIn
    ) -> None:
        signed_in(owner).post(page(late[0]), {"resolution": "Customer told", "circuit_is_clean": "no"})

        closed = Incident.objects.select_related("circuit").get(pk=late[0].pk)
        assert closed.status == IncidentStatus.CLOSED
        assert closed.circuit.suspected_lubricants == ["PAG"]

    @pytest.mark.parametrize(
        "data", [{}, {"resolution": "  ", "circuit_is_clean": "yes"}, {"resolution": "Done"}]
    )
    def test_is_not_closed_without_an_answer_to_both_questions(
        self, late: list[Incident], owner: User, signed_in: SignedIn, data: dict[str, str]
    ) -> None:
        response = signed_in(owner).post(page(late[0]), data)

        assert response.status_code == 422
        assert "This field is required." in words_of(response)
        assert Incident.objects.filter(status=IncidentStatus.OPEN).count() == 2

    def test_that_is_closed_already_says_so(
        self, late: list[Incident], owner: User, signed_in: SignedIn
    ) -> None:
        browser, data = signed_in(owner), {"resolution": "Done", "circuit_is_clean": "no"}
        browser.post(page(late[0]), data)

        response = browser.post(page(late[0]), data)

        assert response.status_code == 422
        assert "This incident has been closed already." in words_of(response)


class TestOverrides:
    def test_stand_with_the_reason_the_job_and_what_they_went_against(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop = workshop_clock
        workshop.connect(
            workshop.circuit(), workshop.piece("H-1"), job="2026-0005", actor=workshop.owner,
            override_reason="The car goes to the breaker today",
        )  # fmt: skip

        response = signed_in(technician).get(reverse("equipment:overrides"))

        words = words_of(response)
        assert "The car goes to the breaker today" in words
        assert "Orla, 2 Mar 2026 08:10" in words
        assert "Nobody knows what H-1 last touched." in words
        assert reverse("jobs:job", args=["2026-0005"]) in response.content.decode()
        assert page(Incident.objects.get()) in response.content.decode()
