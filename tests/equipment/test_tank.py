"""Air in the tank of a machine: more pressure than its refrigerant has, and the cars it may have reached."""

from __future__ import annotations

from datetime import datetime
from uuid import uuid4

import pytest
from django.urls import reverse

from equipment.choices import PieceKind
from equipment.errors import PlanImpossible, WorkImpossible
from equipment.ledger import Account, AccountKind, Content
from equipment.maintenance.choices import IntervalSource, Work, WorkOutcome
from equipment.maintenance.models import MaintenancePlan, MaintenanceRecord
from equipment.maintenance.plans import PlanDescription, plan_add
from equipment.maintenance.rules import Interval
from equipment.maintenance.suggestions import suggestions_for
from equipment.maintenance.work import WorkDone, work_record
from equipment.models import Piece
from equipment.services.ledger import AirInside, account_of_kind, account_of_piece, refrigerant_move
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
        assert "air or another gas is in the tank. Charge no car from it" in record.findings[0]["sentence"]
        assert record.findings[1]["sentence"].endswith("which may have got of it: J-7.")
        workshop_clock.purge(machine)
        refused = workshop_clock.connect(car, machine, job="J-8")
        assert not refused.connected
        assert any("failed on" in reason.sentence for reason in refused.decision.refusals)

    def test_at_the_pressure_of_its_refrigerant_shows_no_air(
        self, workshop_clock: Workshop, plan: MaintenancePlan
    ) -> None:
        record = check(workshop_clock, plan, "100 psi", "90 °F")

        assert (record.outcome, plan.piece.code) == (WorkOutcome.PASSED, "M-1")
        assert [one["sentence"] for one in record.findings] == [
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


class TestCylinder:
    """A cylinder is looked into like a tank, and what is found follows from it in the same way."""

    @pytest.fixture
    def cylinder(self, workshop_clock: Workshop) -> Piece:
        return workshop_clock.piece("C-1", PieceKind.RECOVERY_CYLINDER, refrigerant=Refrigerant.R134A)

    @pytest.fixture
    def plan(self, workshop_clock: Workshop, cylinder: Piece) -> MaintenancePlan:
        description = PlanDescription(Work.TANK_CHECK, Interval(months=1), IntervalSource.SHOP_POLICY)
        return plan_add(
            actor=workshop_clock.owner, piece=cylinder, description=description, now=workshop_clock.now
        )

    def test_with_air_is_not_ready_until_a_later_check_finds_none(
        self, workshop_clock: Workshop, plan: MaintenancePlan, signed_in: SignedIn, technician: User
    ) -> None:
        supplier, machine = account_of_kind(AccountKind.SUPPLIER), workshop_clock.machine()
        machine.refrigerant = Refrigerant.R134A
        machine.save()
        cylinder, tank = account_of_piece(plan.piece), account_of_piece(machine)

        def move(source: Account, target: Account, now: datetime) -> None:
            refrigerant_move(
                actor=workshop_clock.technician, source=source, target=target, content=Content.R134A,
                mass_kg=1.0, now=now,
            )  # fmt: skip

        for _kilogram in range(2):
            move(supplier, cylinder, workshop_clock.later())
        move(cylinder, tank, workshop_clock.later())

        # R-134a at 35 °C: 7.86 bar gauge (CoolProp 8.0.0).
        foul = check(workshop_clock, plan, "9.8 bar", "35 °C")

        assert foul.outcome == WorkOutcome.FAILED
        assert [one["sentence"] for one in foul.findings[1:]] == [
            "Since the check before it was filled into M-1: look for air there, too."
        ]
        browser = signed_in(technician)
        board = words_of(browser.get(reverse("equipment:board")))
        assert "C-1 failed on 2 Mar 2026: Air in the tank." in board
        assert "Not now C-1 failed on" in words_of(browser.get(reverse("equipment:piece", args=["C-1"])))
        for source, target in ((cylinder, tank), (supplier, cylinder)):
            with pytest.raises(AirInside, match="Air or another gas is in C-1, by its last check"):
                move(source, target, workshop_clock.now)

        move(cylinder, account_of_kind(AccountKind.RECLAIMER), workshop_clock.now)
        check(workshop_clock, plan, "7.9 bar", "35 °C")
        move(supplier, cylinder, workshop_clock.now)

        move(cylinder, tank, workshop_clock.now)
        assert "C-1 failed" not in words_of(browser.get(reverse("equipment:board")))

    def test_without_a_label_is_judged_by_what_it_holds(
        self, workshop_clock: Workshop, plan: MaintenancePlan, cylinder: Piece
    ) -> None:
        cylinder.refrigerant = ""
        cylinder.save()
        with pytest.raises(WorkImpossible, match="which refrigerant it holds"):
            check(workshop_clock, plan, "7.9 bar", "35 °C")
        refrigerant_move(
            actor=workshop_clock.technician,
            source=account_of_kind(AccountKind.SUPPLIER),
            target=account_of_piece(cylinder),
            content=Content.R134A,
            mass_kg=2.0,
            now=workshop_clock.now,
        )

        assert check(workshop_clock, plan, "7.9 bar", "35 °C").outcome == WorkOutcome.PASSED

    def test_marked_for_foul_gas_is_never_looked_into(self, workshop_clock: Workshop) -> None:
        marked = workshop_clock.piece("C-9", PieceKind.RECOVERY_CYLINDER, is_marked_for_contaminated=True)
        description = PlanDescription(Work.TANK_CHECK, Interval(months=1), IntervalSource.SHOP_POLICY)

        with pytest.raises(PlanImpossible, match="not marked for foul gas"):
            plan_add(
                actor=workshop_clock.owner, piece=marked, description=description, now=workshop_clock.now
            )
        assert Work.TANK_CHECK not in {
            one.work for one in suggestions_for(PieceKind.RECOVERY_CYLINDER, holds_foul_gas=True)
        }


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
