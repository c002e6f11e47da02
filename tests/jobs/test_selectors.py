"""The list of the day and the page of a job, with the same number of queries however many rows."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest

from jobs.choices import ServiceKind, StepKind
from jobs.models import Job
from jobs.selectors import job_page, jobs_visible_to, todays_jobs
from jobs.services.booking import Booking, job_book
from jobs.services.steps import step_correct
from jobs.services.visits import job_check_in
from jobs.steps.display import display
from jobs.steps.registry import step_of
from shopcool.shop.units import Units

QUERIES_OF_THE_DAY = 4
QUERIES_OF_A_PAGE = 4


def booked(bay, hours=1.0):
    """Book another vehicle."""
    booking = Booking(ServiceKind.AC_SERVICE, bay.workshop.now + timedelta(hours=hours))
    return job_book(
        actor=bay.technician, circuit=bay.workshop.circuit(), booking=booking, now=bay.workshop.now
    )


class TestVisibility:
    def test_is_for_colleagues_only(self, bay, front_desk, outsider):
        assert list(jobs_visible_to(front_desk.as_actor())) == [bay.job]
        assert list(jobs_visible_to(outsider.as_actor())) == []
        assert todays_jobs(actor=outsider.as_actor(), now=bay.workshop.now) == []


class TestToday:
    def test_shows_what_is_open_by_time_and_not_what_comes_later(self, bay):
        early, later = booked(bay, hours=0.5), booked(bay, hours=50)

        listed = [row.job for row in todays_jobs(actor=bay.technician, now=bay.workshop.now)]

        assert listed == [early, bay.job]
        assert later not in listed

    def test_says_what_comes_next_and_what_blocks_it(self, bay):
        bay.up_to(StepKind.OIL)
        bay.job.circuit.charge_kg = None
        bay.job.circuit.save()

        row = todays_jobs(actor=bay.technician, now=bay.workshop.now)[0]

        assert row.next_step is not None
        assert row.next_step.kind is StepKind.CHARGE
        assert [blocker.code for blocker in row.blockers] == ["label_charge_unknown"]
        assert sorted(row.connected) == ["H-1", "M-1"]

    def test_needs_as_many_queries_for_ten_jobs_as_for_one(self, bay, django_assert_num_queries):
        bay.up_to(StepKind.RECOVERY)
        todays_jobs(actor=bay.technician, now=bay.workshop.now)
        with django_assert_num_queries(QUERIES_OF_THE_DAY + 1):
            todays_jobs(actor=bay.technician, now=bay.workshop.now)

        for _ in range(9):
            job_check_in(actor=bay.technician, job=booked(bay), now=bay.workshop.now)

        with django_assert_num_queries(QUERIES_OF_THE_DAY + 1):
            assert len(todays_jobs(actor=bay.technician, now=bay.workshop.now)) == 10


class TestPage:
    def test_shows_records_with_corrections_resolved(self, bay):
        bay.checked_in()
        first = bay.record(StepKind.LABEL)
        second = step_correct(
            actor=bay.technician,
            record=first,
            raw=bay.raw(StepKind.LABEL, complaint="squeaks"),
            reason="misheard",
            idempotency_key=uuid4(),
            now=bay.workshop.later(),
        )

        page = job_page(job=_loaded(bay), now=bay.workshop.now)

        rows = page.records[StepKind.LABEL]
        assert [(row.record.pk, row.stands, row.position) for row in rows] == [
            (first.pk, False, 1),
            (second.pk, True, 1),
        ]
        assert rows[1].corrects == first
        assert display(step_of(StepKind.LABEL).field("complaint"), rows[1].values, Units()) == "squeaks"
        assert page.seen(StepKind.LABEL) == 2

    def test_shows_overrides_and_what_is_connected(self, bay):
        glass = bay.sight_glass()
        bay.up_to_connection()
        bay.connect(glass, actor=bay.workshop.owner, reason="Glass seen unpacked.")

        page = job_page(job=_loaded(bay), now=bay.workshop.now)

        assert sorted(row.piece.code for row in page.connected) == ["H-1", "M-1", "S-1"]
        assert [clearance.override_reason for clearance in page.overrides] == ["Glass seen unpacked."]

    @pytest.mark.parametrize("last", [StepKind.READINGS_BEFORE, StepKind.LEAK_CHECK])
    def test_needs_the_same_number_of_queries_however_far_the_job_is(
        self, bay, last, django_assert_num_queries
    ):
        bay.up_to(last)
        job = _loaded(bay)

        with django_assert_num_queries(QUERIES_OF_A_PAGE):
            job_page(job=job, now=bay.workshop.now)


def _loaded(bay) -> Job:
    return jobs_visible_to(bay.technician).get(pk=bay.job.pk)
