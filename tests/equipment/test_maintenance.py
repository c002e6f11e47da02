"""Plans, the work that was done, and what both mean for a piece."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from pytest_django import DjangoAssertNumQueries

from equipment.choices import DocumentKind, PieceKind
from equipment.due_selectors import due_items
from equipment.errors import (
    NotWetted,
    PlanChanged,
    PlanImpossible,
    ReasonMissing,
    SubmissionReused,
    WorkImpossible,
)
from equipment.maintenance.choices import IntervalSource, WhenOverdue, Work, WorkOutcome
from equipment.maintenance.models import MaintenancePlan, MaintenanceRecord, PieceUse
from equipment.maintenance.plans import PlanDescription, gloves_issue, plan_add, plan_change, plan_end
from equipment.maintenance.projection import stale_plans
from equipment.maintenance.rules import Interval
from equipment.maintenance.use import meter_read, piece_used
from equipment.maintenance.work import WorkDone, work_correct, work_record
from equipment.models import Clearance, Piece
from equipment.readiness.requests import request_as_record, request_from_record
from equipment.services.exposures import contact_declare
from equipment.services.pieces import DocumentDescription, document_add
from shopcool.core.errors import Conflict, NotAllowed
from shopcool.engineering.quantities import Kind, parse
from tests.equipment.workshop import Workshop

pytestmark = pytest.mark.django_db
TODAY = date(2026, 3, 2)
YEARLY = Interval(months=12)


def grams(text: str) -> Any:
    return parse(text, Kind.MASS, default_unit="g")


class Upkeep:
    """A workshop with a machine, and its maintenance in a few words."""

    def __init__(self, workshop: Workshop) -> None:
        self.workshop = workshop
        self.machine = workshop.machine()

    def plan(
        self,
        work: Work = Work.FILTER_DRIER,
        interval: Interval = YEARLY,
        piece: Piece | None = None,
        **values: Any,
    ) -> MaintenancePlan:
        description = PlanDescription(
            work, interval, IntervalSource.SHOP_POLICY, **{"starts_on": TODAY, **values}
        )
        return plan_add(
            actor=self.workshop.owner,
            piece=piece or self.machine,
            description=description,
            now=self.workshop.now,
        )

    def done(
        self, plan: MaintenancePlan, outcome: WorkOutcome | None = WorkOutcome.NOT_JUDGED, **values: Any
    ) -> MaintenanceRecord:
        key = values.pop("key", None) or uuid4()
        done_on = values.pop("done_on", None) or self.workshop.now.date()
        return work_record(
            actor=values.pop("actor", self.workshop.technician),
            plan=plan,
            submission_key=key,
            work=WorkDone(done_on=done_on, outcome=outcome, **values),
            now=self.workshop.later(),
        )

    def days_later(self, days: int) -> None:
        self.workshop.later(days * 24 * 60)

    def reasons(self, piece: Piece | None = None) -> dict[str, str]:
        """What the clearance says about a piece, by code: refusal or warning."""
        outcome = self.workshop.connect(self.workshop.circuit(), piece or self.machine, job="J-9")
        return {reason.code: reason.severity.value for reason in outcome.decision.reasons}

    def due(self, days: int = 0) -> dict[str, date]:
        today = self.workshop.now.date()
        items = due_items(today=today, until=today + timedelta(days=days))
        return {item.key: item.due_on for item in items if item.key.startswith("plan:")}


@pytest.fixture
def upkeep(workshop: Workshop) -> Upkeep:
    return Upkeep(workshop)


def fresh(plan: MaintenancePlan) -> MaintenancePlan:
    return MaintenancePlan.objects.get(pk=plan.pk)


class TestPlans:
    def test_the_first_interval_runs_from_the_day_that_is_named(self, upkeep: Upkeep) -> None:
        plan = upkeep.plan(starts_on=date(2025, 8, 31), interval=Interval(months=6))

        assert plan.due_on == date(2026, 2, 28)
        assert upkeep.due() == {f"plan:{plan.pk}": date(2026, 2, 28)}

    @pytest.mark.parametrize(
        ("changes", "message"),
        [
            ({"interval": Interval()}, "Say how often"),
            ({"interval": Interval(jobs=0)}, "An interval is more than nothing"),
            ({"work": Work.OTHER}, "Say what is to be done"),
            ({"starts_on": TODAY + timedelta(days=1)}, "can't begin in the future"),
            ({"work": Work.GLOVE_TEST}, "Only gloves have a glove test"),
        ],
    )
    def test_that_ask_for_nothing_are_refused(
        self, upkeep: Upkeep, changes: dict[str, Any], message: str
    ) -> None:
        with pytest.raises(PlanImpossible, match=message):
            upkeep.plan(**changes)

        assert not MaintenancePlan.objects.exists()

    def test_a_second_one_for_the_same_work_is_refused_until_the_first_has_ended(
        self, upkeep: Upkeep
    ) -> None:
        plan = upkeep.plan()
        with pytest.raises(Conflict, match="M-1 has a plan for this already: Filter-drier"):
            upkeep.plan()

        plan_end(actor=upkeep.workshop.owner, plan=plan, reason="New machine", now=upkeep.workshop.now)

        assert upkeep.plan().pk != plan.pk

    def test_two_owners_at_once_do_not_overwrite_each_other(self, upkeep: Upkeep) -> None:
        plan = upkeep.plan()
        shorter = PlanDescription(Work.FILTER_DRIER, Interval(months=6), IntervalSource.MAKER)
        owner, now = upkeep.workshop.owner, upkeep.workshop.now
        changed = plan_change(actor=owner, plan=plan, description=shorter, revision=1, now=now)

        with pytest.raises(PlanChanged, match="Somebody changed or ended this plan"):
            plan_change(actor=owner, plan=plan, description=shorter, revision=1, now=now)

        assert (changed.revision, changed.due_on) == (2, date(2026, 9, 2))

    def test_only_an_owner_plans_and_ends_with_a_reason(self, upkeep: Upkeep) -> None:
        plan, now = upkeep.plan(), upkeep.workshop.now
        with pytest.raises(NotAllowed, match="Ask the owner"):
            plan_end(actor=upkeep.workshop.technician, plan=plan, reason="x", now=now)
        with pytest.raises(ReasonMissing, match="why the piece no longer needs"):
            plan_end(actor=upkeep.workshop.owner, plan=plan, reason=" ", now=now)


class TestWork:
    def test_begins_a_new_interval_and_says_what_it_followed(self, upkeep: Upkeep) -> None:
        plan = upkeep.plan(interval=Interval(months=12, kg=68.0))
        piece_used(
            actor=upkeep.workshop.technician, piece_id=upkeep.machine.pk, mass_kg=61.5,
            occurred_at=upkeep.workshop.later(), now=upkeep.workshop.now,
        )  # fmt: skip
        assert fresh(plan).used_kg == 61.5

        record = upkeep.done(plan, parts="Filter 12-B")

        assert record.used == {"hours": 0.0, "kg": 61.5, "jobs": 0}
        assert record.done_by == "Tilda"
        assert (fresh(plan).used_kg, fresh(plan).last_done_on) == (0.0, TODAY)

    def test_done_earlier_counts_from_that_day(self, upkeep: Upkeep) -> None:
        plan = upkeep.plan()
        upkeep.done(plan, done_on=date(2026, 1, 31))

        assert fresh(plan).due_on == date(2027, 1, 31)

    def test_sent_twice_is_recorded_once(self, upkeep: Upkeep) -> None:
        plan, key = upkeep.plan(), uuid4()

        first, second = upkeep.done(plan, key=key, note="ok"), upkeep.done(plan, key=key, note="ok")

        assert first.pk == second.pk
        with pytest.raises(SubmissionReused, match="recorded already, with something else"):
            upkeep.done(plan, key=key, note="other")

    @pytest.mark.parametrize(
        ("work", "values", "message"),
        [
            (Work.FILTER_DRIER, {"done_on": TODAY + timedelta(days=1)}, "lies in the future"),
            (Work.FILTER_DRIER, {"outcome": None}, "Say how it ended"),
            (Work.LEAK_CHECK, {"outcome": WorkOutcome.NOT_JUDGED}, "A check is passed or failed"),
            (Work.LEAK_CHECK, {"outcome": WorkOutcome.FAILED}, "Say what was wrong"),
            (Work.SCALE_CHECK, {"readings": {}}, "Say which mass was put on"),
            (Work.SCALE_CHECK, {"readings": {"reference": grams("500")}}, "Say what the scale showed"),
        ],
    )
    def test_that_proves_nothing_is_refused(
        self, upkeep: Upkeep, work: Work, values: dict[str, Any], message: str
    ) -> None:
        plan = upkeep.plan(work)

        with pytest.raises(WorkImpossible, match=message):
            upkeep.done(plan, **values)

        assert not MaintenanceRecord.objects.exists()

    def test_is_never_changed_or_deleted(self, upkeep: Upkeep) -> None:
        record = upkeep.done(upkeep.plan())

        for act in (
            lambda: MaintenanceRecord.objects.filter(pk=record.pk).update(note="better"),
            lambda: MaintenanceRecord.objects.filter(pk=record.pk).delete(),
            lambda: PieceUse.objects.create(
                piece=upkeep.machine, stream="x", sequence=1, recorded_at=upkeep.workshop.now,
                recorded_by_name="x", occurred_at=upkeep.workshop.now, meter_hours=-1.0,
            ),
        ):  # fmt: skip
            with pytest.raises(IntegrityError), transaction.atomic():
                act()

    def test_of_a_scale_check_is_judged_at_the_tolerance_of_the_machine(self, upkeep: Upkeep) -> None:
        Piece.objects.filter(pk=upkeep.machine.pk).update(scale_tolerance_kg=0.010)
        plan = upkeep.plan(Work.SCALE_CHECK)
        readings = {"reference": grams("5 kg"), "before": grams("5.012 kg")}

        failed = upkeep.done(plan, None, readings=readings)
        passed = upkeep.done(plan, None, readings={**readings, "after": grams("5002")})

        assert (failed.outcome, passed.outcome) == (WorkOutcome.FAILED, WorkOutcome.PASSED)
        assert failed.readings["before"]["typed"].startswith("5.012")
        assert "±10 g is allowed" in failed.findings[0]["sentence"]


class TestReadiness:
    def test_on_the_day_it_is_due_and_the_day_after_the_piece_is_not_ready(self, upkeep: Upkeep) -> None:
        plan = upkeep.plan(interval=Interval(days=30), starts_on=TODAY - timedelta(days=30))
        assert "maintenance_overdue" not in upkeep.reasons()
        assert upkeep.due() == {f"plan:{plan.pk}": TODAY}

        upkeep.days_later(1)

        assert upkeep.reasons()["maintenance_overdue"] == "REFUSAL"
        upkeep.done(plan)
        assert "maintenance_overdue" not in upkeep.reasons()
        assert upkeep.due() == {}

    def test_a_plan_that_warns_leaves_the_piece_ready(self, upkeep: Upkeep) -> None:
        upkeep.plan(interval=Interval(days=1), when_overdue=WhenOverdue.WARN)
        upkeep.days_later(3)

        assert upkeep.reasons()["maintenance_overdue"] == "WARNING"

    def test_a_failed_check_refuses_at_once_until_one_is_passed(self, upkeep: Upkeep) -> None:
        plan = upkeep.plan(Work.LEAK_CHECK, when_overdue=WhenOverdue.WARN)
        upkeep.done(plan, WorkOutcome.FAILED, note="Seal weeps")

        assert upkeep.reasons()["maintenance_failed"] == "REFUSAL"
        assert upkeep.due() == {f"plan:{plan.pk}": TODAY}

        upkeep.done(plan, WorkOutcome.PASSED, parts="O-ring")
        assert "maintenance_failed" not in upkeep.reasons()

    def test_the_reason_names_work_way_out_and_source_and_can_be_judged_again(self, upkeep: Upkeep) -> None:
        upkeep.plan(interval=Interval(days=1), source_note="2.4")
        upkeep.days_later(5)
        upkeep.reasons()
        recorded = Clearance.objects.latest("pk")

        (reason,) = [one for one in recorded.reasons if one["code"] == "maintenance_overdue"]

        assert reason["sentence"] == "Filter-drier of M-1 was due on 3 Mar 2026."
        assert reason["fix"] == "Do the work and record it on the page of M-1."
        assert reason["source"] == "Shop policy: 2.4"
        assert request_as_record(request_from_record(recorded.request)) == recorded.request
        older = {**recorded.request, "pieces": [dict(one) for one in recorded.request["pieces"]]}
        del older["pieces"][0]["maintenance"]
        assert request_from_record(older).pieces[0].maintenance == ()

    def test_an_ended_plan_says_nothing(self, upkeep: Upkeep) -> None:
        plan = upkeep.plan(interval=Interval(days=1))
        upkeep.days_later(5)
        plan_end(actor=upkeep.workshop.owner, plan=plan, reason="Sealed unit", now=upkeep.workshop.now)

        assert "maintenance_overdue" not in upkeep.reasons()
        assert upkeep.due() == {}


class TestUse:
    def test_the_job_after_the_last_one_is_refused(self, upkeep: Upkeep) -> None:
        upkeep.plan(interval=Interval(jobs=2))
        workshop = upkeep.workshop
        for job in ("J-1", "J-2"):
            workshop.purge(upkeep.machine)
            outcome = workshop.connect(workshop.circuit(), upkeep.machine, job=job)
            assert outcome.connected
            workshop.disconnect(job)

        assert upkeep.reasons()["maintenance_overdue"] == "REFUSAL"
        assert list(upkeep.due().values()) == [workshop.now.date()]

    def test_coming_on_again_is_the_same_job(self, upkeep: Upkeep) -> None:
        plan, workshop = upkeep.plan(interval=Interval(jobs=9)), upkeep.workshop
        workshop.purge(upkeep.machine)
        circuit = workshop.circuit()
        for _time in range(2):
            workshop.connect(circuit, upkeep.machine, job="J-1")
            workshop.disconnect("J-1")

        assert fresh(plan).used_jobs == 1
        assert list(stale_plans()) == []

    def test_a_purge_goes_through_the_filter_of_its_machine(self, upkeep: Upkeep) -> None:
        plan = upkeep.plan(interval=Interval(kg=68.0))

        upkeep.workshop.purge(upkeep.machine, upkeep.workshop.piece("H-1"))

        assert fresh(plan).used_kg == 0.5
        assert list(stale_plans()) == []

    def test_the_meter_counts_the_hours_between_two_readings(self, upkeep: Upkeep) -> None:
        plan, workshop = upkeep.plan(Work.PUMP_OIL, Interval(hours=40.0)), upkeep.workshop

        def read(hours: float, **more: bool) -> None:
            meter_read(
                actor=workshop.technician,
                piece=upkeep.machine,
                meter_hours=hours,
                now=workshop.later(),
                **more,
            )

        read(100.0)
        read(139.5)
        assert (fresh(plan).used_hours, fresh(plan).is_reached) == (39.5, False)
        with pytest.raises(WorkImpossible, match=r"The meter showed 139\.5 h on 2 Mar 2026"):
            read(3.0)
        read(0.0, is_replaced=True)
        read(0.5)
        assert (fresh(plan).used_hours, fresh(plan).is_reached) == (40.0, True)
        assert list(stale_plans()) == []

    def test_what_was_counted_wrongly_is_found(self, upkeep: Upkeep) -> None:
        plan = upkeep.plan()
        MaintenancePlan.objects.filter(pk=plan.pk).update(used_kg=3.0)

        assert [found.pk for found in stale_plans()] == [plan.pk]


class TestCorrections:
    def test_put_another_record_in_place_of_a_wrong_one(self, upkeep: Upkeep) -> None:
        plan = upkeep.plan(Work.LEAK_CHECK)
        wrong = upkeep.done(plan, WorkOutcome.PASSED)
        right = WorkDone(TODAY, WorkOutcome.FAILED, note="Wrong hose was checked")
        workshop = upkeep.workshop

        correct = {"record": wrong, "work": right, "submission_key": uuid4(), "now": workshop.later()}
        with pytest.raises(NotAllowed):
            work_correct(actor=workshop.technician, reason="Mixed up", **correct)
        with pytest.raises(ReasonMissing, match="why the record is corrected"):
            work_correct(actor=workshop.owner, reason="", **correct)
        work_correct(actor=workshop.owner, reason="Mixed up", **correct)

        assert (fresh(plan).last_done_on, fresh(plan).failed_on) == (None, TODAY)
        with pytest.raises(PlanChanged, match="corrected already"):
            work_correct(actor=workshop.owner, reason="Again", **{**correct, "submission_key": uuid4()})


class TestInstruments:
    @pytest.fixture
    def gloves(self, workshop: Workshop) -> Piece:
        return workshop.piece("G-1", PieceKind.GLOVES, glove_class="0")

    def test_are_never_connected_not_even_by_the_owner(self, workshop: Workshop) -> None:
        tester = workshop.piece("T-1", PieceKind.INSULATION_TESTER)

        with pytest.raises(NotWetted, match="T-1: an instrument or protection"):
            workshop.connect(workshop.circuit(), tester, actor=workshop.owner, override_reason="because")

    def test_carry_no_residue(self, workshop: Workshop) -> None:
        tester = workshop.piece("T-1", PieceKind.INSULATION_TESTER)

        with pytest.raises(NotWetted, match="No refrigerant passes through T-1"):
            contact_declare(
                actor=workshop.technician, piece_id=tester.pk, occurred_at=workshop.now, now=workshop.now,
                circuit=workshop.circuit(), note="touched",
            )  # fmt: skip

    def test_gloves_go_from_twelve_months_in_store_to_six_in_use(self, upkeep: Upkeep, gloves: Piece) -> None:
        plan = upkeep.plan(Work.GLOVE_TEST, Interval(months=6), gloves, starts_on=date(2026, 1, 15))
        assert plan.due_on == date(2027, 1, 15)

        issued = {"actor": upkeep.workshop.owner, "piece": gloves, "now": upkeep.workshop.now}
        gloves_issue(issued_on=TODAY, **issued)

        assert fresh(plan).due_on == date(2026, 9, 2)
        with pytest.raises(PlanImpossible, match="Only gloves that lie in store"):
            gloves_issue(issued_on=TODAY, **issued)

    def test_gloves_without_a_test_of_the_last_year_are_not_given_out(
        self, upkeep: Upkeep, gloves: Piece
    ) -> None:
        upkeep.plan(Work.GLOVE_TEST, Interval(months=6), gloves, starts_on=date(2025, 3, 1))

        with pytest.raises(PlanImpossible, match="no test of the last twelve months"):
            gloves_issue(actor=upkeep.workshop.owner, piece=gloves, issued_on=TODAY, now=upkeep.workshop.now)

    def test_a_reference_mass_that_has_run_out_proves_nothing(self, upkeep: Upkeep) -> None:
        mass = upkeep.workshop.piece("R-1", PieceKind.REFERENCE_MASS)
        document_add(
            actor=upkeep.workshop.owner, piece=mass,
            description=DocumentDescription(
                DocumentKind.CALIBRATION, "K-1", "Board", date(2024, 1, 1), date(2026, 1, 1)
            ),
            now=upkeep.workshop.now,
        )  # fmt: skip
        plan = upkeep.plan(Work.SCALE_CHECK)
        readings = {"reference": grams("5 kg"), "before": grams("5 kg")}

        with pytest.raises(WorkImpossible, match="The newest calibration of R-1 has run out"):
            upkeep.done(plan, None, readings=readings, reference=mass)


def test_due_things_are_found_with_as_many_queries_for_many_pieces_as_for_one(
    upkeep: Upkeep, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(5):
        upkeep.plan(piece=upkeep.workshop.piece(f"H-{number}"), interval=Interval(days=number + 1))

    with django_assert_num_queries(4):
        found = upkeep.due(10)

    assert len(found) == 5
