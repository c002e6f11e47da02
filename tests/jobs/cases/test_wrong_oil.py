"""One per cent of the wrong oil: found before the hose touches the car, and no amount of it is small."""

from __future__ import annotations

import pytest
from django.urls import reverse

from jobs.choices import StepKind
from shopcool.core import clock
from shopcool.people.models import User
from shopcool.vehicles.choices import Drive, Lubricant
from tests.equipment.workshop import Workshop
from tests.jobs.bay import BEFORE_CONNECTION, Bay
from tests.jobs.browser import Tablet, words
from tests.jobs.cases.car import Car, finding, output, said

pytestmark = pytest.mark.django_db


class TestHoseOfTheLastCar:
    """A hose set that served a belt-driven car on PAG, before a car with 120 ml of POE.

    1 % of 120 ml is 1.2 ml, about what wets one hose. Trade articles tell of an insulation that fell from
    ten megohm to less than one; that is one supplier's chart and no law.
    """

    @pytest.fixture(autouse=True)
    def on_a_belt_car_before(self, arrived_car: Car) -> None:
        bay, workshop = arrived_car.bay, arrived_car.bay.workshop
        belt = workshop.circuit(drive=Drive.BELT, lubricant=Lubricant.PAG)
        assert workshop.connect(belt, bay.hoses).connected
        workshop.disconnect()
        for kind in BEFORE_CONNECTION:
            bay.record(kind)

    def test_is_refused_with_what_it_holds_and_how_to_clear_it(self, arrived_car: Car) -> None:
        outcome = arrived_car.bay.connect()

        assert not outcome.connected
        (refusal,) = outcome.decision.refusals
        assert refusal.sentence == (
            "H-4 holds residue of PAG, which conducts and can ruin a high-voltage compressor."
        )
        assert refusal.fix == "Run a line purge with H-4 in the loop."

    def test_shows_how_much_could_come_along_and_permits_nothing(
        self, arrived_car: Car, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        bay = arrived_car.bay
        monkeypatch.setattr(clock, "now", lambda: bay.workshop.now)
        panel = reverse("jobs:clearance", args=[bay.job.number])
        asked = {"pieces": [bay.hoses.pk, bay.machine.pk], "check": "yes"}

        text = words(Tablet(User.objects.get(username="tilda")).send(panel, asked))

        # 2 g of PAG beside 120 ml of oil of 1.0 g/ml are 2 / 122 = 1.64 % of what is inside then.
        assert "2 g of PAG could still come along from H-4 (0 purges since)." in text
        assert "Foreign oil in the compressor's oil: up to 1.64 %, above 1.0 %" in text
        assert "it permits nothing" in text
        assert "Refused" in text


class TestOilOfThePump:
    """A pump that stopped with an open valve lets its oil into the hose (vehicle maker's caution, 2011)."""

    def test_makes_the_evacuation_ask_for_a_purge(self, recovered_car: Car) -> None:
        answer = recovered_car.tried(StepKind.EVACUATION, valve_closed_first="no")

        assert said(answer, "pump_oil_suspected") == (
            "Pump oil may have crept into machine, hoses and car: this evacuation does not count. Take the "
            "pieces off, run a line purge, connect and evacuate again. The insulation is measured once more "
            "before the compressor runs."
        )
        assert not answer.satisfied


class TestOilInTheBottle:
    """A bottle that nobody emptied credits this car with oil of the last one (vehicle maker's text, 2001)."""

    def test_that_nobody_read_keeps_everything_off_the_car(self, arrived_car: Car) -> None:
        for kind in BEFORE_CONNECTION[:-1]:
            arrived_car.bay.record(kind)

        (reason,) = arrived_car.bay.state(StepKind.CONNECTION).reasons

        assert reason.sentence == (
            "The recovered-oil bottle has not been read: this oil could be the last vehicle's."
        )

    def test_of_another_class_is_emptied_before_high_voltage(self, arrived_car: Car) -> None:
        arrived_car.bay.record(StepKind.LABEL)

        answer = arrived_car.tried(StepKind.OIL_BOTTLE, emptied="no", reading="30 ml", oil="PAG")

        assert not answer.satisfied
        assert said(answer, "other_oil_in_bottle").endswith("for high voltage: empty it first.")

    def test_counts_only_from_where_the_bottle_stood(self, petrol_car: Car) -> None:
        petrol_car.bay.record(StepKind.OIL_BOTTLE, emptied="no", reading="30 ml", oil="PAG")
        petrol_car.bay.record(StepKind.READINGS_BEFORE)

        answer = petrol_car.tried(StepKind.RECOVERY, oil_end="42 ml")

        assert output(answer, "recovered_oil").text == "12 ml"

    def test_that_the_last_job_left_unread_is_told_at_the_next_one(self, workshop_of_cars: Workshop) -> None:
        bay = Bay(workshop_of_cars, place=9).up_to(StepKind.INSULATION)
        left = bay.record(StepKind.RECOVERY, oil_end="")
        bay.disconnect()
        following = Car(bay.again())
        following.bay.record(StepKind.LABEL)

        sentence = said(following.tried(StepKind.OIL_BOTTLE), "job_before_unread")

        assert sentence.startswith(f"Job {left.job.number}, the last one on this machine, has no reading")


class TestOilThatIsAdded:
    def test_of_another_class_is_refused_at_one_per_cent(self, recovered_car: Car) -> None:
        refused = recovered_car.refused(
            StepKind.OIL, added="yes", way="WITH_PART", oil="PAG", grade="PAG 46", amount="1.2 ml"
        )

        assert refused == {"oil": ["The circuit needs POE oil, this is PAG. No amount of it is acceptable."]}

    def test_that_came_as_dye_is_a_reason_to_measure(self, arrived_car: Car) -> None:
        answer = arrived_car.tried(StepKind.LABEL, additives=["DYE"])

        assert finding(answer, "dye_in_high_voltage").sentence == (
            "Leak dye often carries PAG or solvent: measure the insulation of the compressor."
        )
