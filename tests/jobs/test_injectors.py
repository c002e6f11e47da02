"""The oil step names the injector to take; one of another oil can't be chosen or confirmed by any door."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.urls import reverse

from equipment.models import Piece
from equipment.oil.models import MoveKind, OilMove
from jobs.choices import StepKind
from jobs.injectors import InjectorOffer, Standing, injectors_for
from jobs.pages.ways import step_url
from shopcool.people.models import User
from shopcool.vehicles.choices import Lubricant, Refrigerant
from tests.api.test_reading import client_of
from tests.equipment.workshop import Workshop
from tests.jobs.bay import Bay
from tests.jobs.browser import Tablet, words

pytestmark = pytest.mark.django_db
OTHER_OIL = "The circuit needs POE oil, this is PAG. No amount of it is acceptable."


@pytest.fixture
def bay(workshop: Workshop) -> Bay:
    """An electric car evacuated, its label asking for the grade POE 68, and a filled injector for it."""
    bay = Bay(workshop)
    circuit = bay.job.circuit
    circuit.lubricant_grade = "POE 68"
    circuit.save()
    workshop.fill(workshop.injector("I-1"), workshop.lot(), "60")
    return bay.up_to(StepKind.EVACUATION)


@pytest.fixture
def foreign(bay: Bay) -> Piece:
    """A PAG injector, which the owner let onto the car against the clearance."""
    workshop = bay.workshop
    injector = workshop.injector("I-9", lubricant=Lubricant.PAG, lubricant_grade="PAG 46")
    workshop.fill(injector, workshop.lot("L-2", lubricant=Lubricant.PAG, grade="PAG 46"))
    assert bay.connect(injector, actor=workshop.owner, reason="nothing else at hand").connected
    return injector


def _offers(bay: Bay) -> dict[str, InjectorOffer]:
    found = injectors_for(actor=bay.technician, situation=bay.situation)
    return {offer.facts.code: offer for offer in found}


def _typed(injector: Piece) -> dict[str, str]:
    return {"added": "yes", "way": "INJECTOR", "injector": str(injector.pk), "amount": "15 ml"}


class TestOffer:
    def test_puts_the_one_that_fits_first_and_says_of_each_other_why_not(self, bay: Bay) -> None:
        workshop = bay.workshop
        workshop.injector("I-2", lubricant_grade="POE 100")
        workshop.injector("I-3", refrigerant=Refrigerant.R134A)
        workshop.injector("I-4")
        workshop.injector("I-5", clean=False)
        workshop.injector("I-9", lubricant=Lubricant.PAG, lubricant_grade="PAG 46")

        offers = _offers(bay)

        assert list(offers)[:2] == ["I-1", "I-4"]
        assert {code: offer.standing for code, offer in offers.items()} == {
            "I-1": Standing.CONNECT_FIRST,
            "I-4": Standing.FILL_FIRST,
            "I-2": Standing.NOT,
            "I-3": Standing.NOT,
            "I-5": Standing.NOT,
            "I-9": Standing.NOT,
        }
        said = {code: " ".join(offer.why_not) for code, offer in offers.items()}
        assert "labelled POE 100, the circuit asks for POE 68" in said["I-2"]
        assert "R-134a" in said["I-3"]
        assert "Unknown is not clean" in said["I-5"]
        assert "labelled for PAG oil, the circuit needs POE" in said["I-9"]

    def test_leads_to_the_car_and_from_there_to_the_oil(self, bay: Bay, technician_tablet: Tablet) -> None:
        injector = Piece.objects.get(code="I-1")

        page = technician_tablet.job(bay.job)

        assert "I-1 POE 68 fits and holds 60 ml; it is not on the car yet." in words(page)
        assert f"?pieces={injector.pk}" in page.content.decode()
        assert bay.connect(injector).connected
        assert _offers(bay)["I-1"].standing is Standing.ON_CAR
        page = technician_tablet.open(step_url(bay.job.number, StepKind.OIL))
        assert f'name="injector" value="{injector.pk}"' in page.content.decode()


class TestInjectorOfAnotherClass:
    def test_is_neither_offered_nor_taken_by_the_pages(
        self, bay: Bay, foreign: Piece, technician_tablet: Tablet
    ) -> None:
        page = technician_tablet.open(step_url(bay.job.number, StepKind.OIL))
        scanned = technician_tablet.open(reverse("jobs:scan", args=[foreign.public_id]))

        answer = technician_tablet.record(bay.job, StepKind.OIL, _typed(foreign))

        assert f'name="injector" value="{foreign.pk}"' not in page.content.decode()
        assert "Use this injector" not in words(scanned)
        assert answer.status_code == 422
        assert OTHER_OIL in words(answer)
        assert not OilMove.objects.filter(kind=MoveKind.ADDED).exists()

    def test_is_neither_offered_nor_taken_by_the_api(
        self, bay: Bay, foreign: Piece, bay_clock: None, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        for door in ("jobs.api_steps.now", "jobs.api_injectors.now"):
            monkeypatch.setattr(door, lambda: bay.workshop.later(0.1))
        program = client_of(User.objects.get(username="tilda"))
        url = reverse("api:job_step", args=[bay.job.number, StepKind.OIL])
        asks = {field["name"]: field for field in program.get(url).json()["asks"]}
        sent = {"values": _typed(foreign), "seen": 0, "idempotency_key": str(uuid4())}

        offers = program.get(reverse("api:job_injectors", args=[bay.job.number])).json()
        answer = program.post(url, sent, format="json")

        assert {offer["code"]: offer["standing"] for offer in offers}["I-9"] == "NOT"
        assert asks["injector"]["choices"] == {}
        assert (answer.status_code, answer.json()["fields"]) == (400, {"injector": [OTHER_OIL]})
        assert not OilMove.objects.filter(kind=MoveKind.ADDED).exists()
