"""Air in the tank of a machine: more pressure than its refrigerant has, and the cars it may have reached."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.urls import reverse

from equipment.errors import WorkImpossible
from equipment.maintenance.choices import IntervalSource, Work, WorkOutcome
from equipment.maintenance.models import MaintenancePlan, MaintenanceRecord
from equipment.maintenance.plans import PlanDescription, plan_add
from equipment.maintenance.rules import Interval
from equipment.maintenance.work import WorkDone, work_record
from equipment.models import Piece
from shopcool.engineering.quantities import Kind, parse
from shopcool.people.models import User
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from tests.equipment.page_text import words_of
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn

pytestmark = pytest.mark.django_db


@pytest.fixture
def machine(workshop_clock: Workshop) -> Piece:
    """A machine for R-12, as in the report of a workshop that recovered from leaking cars (2022)."""
    return workshop_clock.machine(refrigerant=Refrigerant.R12)


@pytest.fixture
def plan(workshop_clock: Workshop, machine: Piece) -> MaintenancePlan:
    description = PlanDescription(Work.TANK_CHECK, Interval(months=1), IntervalSource.SHOP_POLICY)
    return plan_add(
        actor=workshop_clock.owner, piece=machine, description=description, now=workshop_clock.now
    )


def check(workshop: Workshop, plan: MaintenancePlan, pressure: str, temperature: str) -> MaintenanceRecord:
    """Record what the gauge and the thermometer showed."""
    readings = {
        "pressure": parse(pressure, Kind.PRESSURE, default_unit="bar"),
        "temperature": parse(temperature, Kind.TEMPERATURE, default_unit="°C"),
    }
    now = workshop.later()
    return work_record(
        actor=workshop.technician,
        plan=plan,
        work=WorkDone(done_on=now.date(), readings=readings),
        submission_key=uuid4(),
        now=now,
    )


class TestTank:
    def test_far_above_its_refrigerant_is_out_of_use_and_names_its_jobs(
        self, workshop_clock: Workshop, machine: Piece, plan: MaintenancePlan
    ) -> None:
        # Well over 400 psi on a day of 90 °F; R-12 has 99.6 psig then (CoolProp 8.0.0).
        car = workshop_clock.circuit(Drive.BELT, Lubricant.MINERAL, Refrigerant.R12)
        workshop_clock.purge(machine)
        assert workshop_clock.connect(car, machine, job="J-7").connected
        workshop_clock.disconnect("J-7")

        record = check(workshop_clock, plan, "400 psi", "90 °F")

        assert record.outcome == WorkOutcome.FAILED
        assert "air or another gas is in the tank. Charge no car from it" in record.findings[0]
        assert record.findings[1].endswith("which may have got of it: J-7.")
        workshop_clock.purge(machine)
        refused = workshop_clock.connect(car, machine, job="J-8")
        assert not refused.connected
        assert any("failed on" in reason.sentence for reason in refused.decision.refusals)

    def test_at_the_pressure_of_its_refrigerant_shows_no_air(
        self, workshop_clock: Workshop, plan: MaintenancePlan
    ) -> None:
        record = check(workshop_clock, plan, "100 psi", "90 °F")

        assert (record.outcome, plan.piece.code) == (WorkOutcome.PASSED, "M-1")
        assert record.findings == [
            "6.89 bar(g), R-12 has 6.87 bar(g) ± 44 kPa at this temperature: no air shows in it."
        ]

    @pytest.mark.parametrize(
        ("pressure", "temperature", "sentence"),
        [
            ("40 psi", "90 °F", "This says nothing about air"),
            ("100 psi", "300 °C", "°C"),
        ],
    )
    def test_that_can_not_be_judged_says_why(
        self, workshop_clock: Workshop, plan: MaintenancePlan, pressure: str, temperature: str, sentence: str
    ) -> None:
        with pytest.raises(WorkImpossible, match=sentence):
            check(workshop_clock, plan, pressure, temperature)
        assert not MaintenanceRecord.objects.exists()

    def test_of_an_unknown_refrigerant_has_nothing_to_be_compared_with(
        self, workshop_clock: Workshop, machine: Piece, plan: MaintenancePlan
    ) -> None:
        machine.refrigerant = Refrigerant.UNKNOWN
        machine.save()

        with pytest.raises(WorkImpossible, match="which refrigerant it holds"):
            check(workshop_clock, plan, "100 psi", "90 °F")


class TestPage:
    def test_asks_for_both_readings_and_judges_them(
        self, plan: MaintenancePlan, signed_in: SignedIn, technician: User
    ) -> None:
        browser = signed_in(technician)
        url = reverse("equipment:plan_work", args=["M-1", plan.pk])
        typed = {"done_on": "2026-03-02", "submission_key": str(uuid4())}

        asked = words_of(browser.get(url))
        wrong = browser.post(url, typed | {"pressure": "100 psi", "temperature": "warm"})
        browser.post(url, typed | {"pressure": "8,1", "temperature": "35"})

        assert "Pressure of the tank" in asked
        assert "How did it end?" not in asked
        assert wrong.status_code == 422
        # R-12 at 35 °C: 7.46 bar gauge (CoolProp 8.0.0); 8.1 bar is more than the error of the readings.
        assert MaintenanceRecord.objects.get().outcome == WorkOutcome.FAILED
