"""The record of a job that is still going on, and how much is read for one."""

from __future__ import annotations

import pytest

from jobs.reports import gather
from tests.jobs.bay import Bay
from tests.jobs.reports.visit_told import (
    correct_complaint,
    document_of,
    purge,
    section,
    tell_closed_visit,
    told,
)

QUERIES = 14


def early_job(bay: Bay) -> None:
    """Take a job to its first connection, with a purge on record, so that every table is read."""
    bay.up_to_connection()
    purge(bay, machine=bay.workshop.machine("M-9"))


class TestGathering:
    @pytest.mark.parametrize("tell", [early_job, tell_closed_visit], ids=["early", "closed"])
    def test_needs_the_same_number_of_queries_however_long_the_job(
        self, bay, tell, django_assert_num_queries
    ):
        tell(bay)

        with django_assert_num_queries(QUERIES):
            gather(job_id=bay.job.pk, now=bay.workshop.now)


class TestOpenJob:
    def test_has_no_alert_where_nothing_was_overridden(self, bay):
        bay.up_to_connection()

        assert document_of(bay).alerts == ()

    def test_lists_what_is_not_done_and_what_is_due(self, bay):
        bay.up_to_connection()

        document = document_of(bay)

        ending = section(document, "The end of the job")
        assert "This job is not closed." in document.head.state
        not_done = next(fact.value for fact in ending.groups[0].facts if fact.label == "Not done")
        assert {"Readings before", "Recovery", "Charge", "Close-out"} <= set(not_done.split(", "))
        assert "Label and complaint" not in not_done
        assert "still due for H-1 Piece H-1, M-1 Piece M-1" in told(ending)

    def test_has_no_head_of_a_chain_before_the_first_entry(self, bay):
        document = document_of(bay)

        assert "chain" not in document.head.made
        assert told(section(document, "About this record")).count("no entry yet") == 2

    def test_has_no_sheet_for_the_customer_before_the_vehicle_goes_home(self, bay):
        bay.up_to_connection()

        assert all(part.title != "For the customer" for part in document_of(bay).sections)

    def test_names_another_head_of_the_chain_after_every_record(self, bay):
        bay.up_to_connection()
        before = document_of(bay).head.made

        correct_complaint(bay, "other", "better")

        assert document_of(bay).head.made.split("chain")[1] != before.split("chain")[1]
