"""Asking for the record of a job: once at a time, after the commit, and never lost with a worker."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path
from unittest.mock import Mock, patch

import pytest
from django.core.management import CommandError, call_command
from django.db import OperationalError, transaction

from jobs.choices import ReportStatus
from jobs.models import Report
from jobs.services.report_making import MOST_ATTEMPTS, report_make
from jobs.services.report_requests import (
    STANDS_STILL_AFTER,
    report_open,
    report_request,
    reports_resume,
)
from jobs.tasks import report_make_task, reports_resume_task
from shopcool.celery import app
from shopcool.core.actors import SYSTEM
from shopcool.core.errors import NotAllowed
from tests.core.documents.reading import text_of
from tests.jobs.bay import Bay


@pytest.fixture
def handed_over() -> Iterator[Mock]:
    """What is given to the queue."""
    with patch.object(report_make_task, "delay") as delay:
        yield delay


def opened(bay: Bay) -> Report:
    """Return a report that waits for its worker."""
    return report_open(actor=bay.technician, job=bay.job, now=bay.workshop.now)[0]


def much_later(bay: Bay) -> datetime:
    """Return a time at which whoever worked on a report is certainly gone."""
    return bay.workshop.now + STANDS_STILL_AFTER + timedelta(seconds=1)


def broken(error: Exception) -> Mock:
    """Return something that fails whenever it is called."""
    return Mock(side_effect=error)


class TestRequest:
    def test_is_handed_over_after_the_commit_only(self, bay, handed_over, django_capture_on_commit_callbacks):
        with django_capture_on_commit_callbacks(execute=True):
            report = report_request(actor=bay.technician, job=bay.job, now=bay.workshop.now)
            handed_over.assert_not_called()

        handed_over.assert_called_once_with(report_id=report.pk)
        assert report.status == ReportStatus.QUEUED

    @pytest.mark.django_db(transaction=True)
    def test_that_is_rolled_back_hands_nothing_over(self, bay, handed_over):
        with transaction.atomic():
            report_request(actor=bay.technician, job=bay.job, now=bay.workshop.now)
            transaction.set_rollback(True)

        handed_over.assert_not_called()
        assert not Report.objects.exists()

    def test_pressed_twice_is_one_report(self, bay, handed_over, django_capture_on_commit_callbacks):
        with django_capture_on_commit_callbacks(execute=True):
            first = report_request(actor=bay.technician, job=bay.job, now=bay.workshop.now)
            second = report_request(actor=bay.workshop.owner, job=bay.job, now=bay.workshop.now)

        assert second == first
        handed_over.assert_called_once_with(report_id=first.pk)

    def test_after_a_finished_one_is_a_new_report(self, bay, handed_over):
        first = opened(bay)
        report_make(report_id=first.pk, now=bay.workshop.now)

        second = report_request(actor=bay.technician, job=bay.job, now=bay.workshop.later())

        assert second != first
        assert second.status == ReportStatus.QUEUED

    def test_survives_a_broker_that_is_down(self, bay, django_capture_on_commit_callbacks, caplog):
        with (
            patch.object(report_make_task, "delay", broken(ConnectionError("no broker"))),
            django_capture_on_commit_callbacks(execute=True),
        ):
            report = report_request(actor=bay.technician, job=bay.job, now=bay.workshop.now)

        assert Report.objects.get(pk=report.pk).status == ReportStatus.QUEUED
        assert "no broker" in caplog.text

    def test_is_for_people_of_the_workshop(self, bay, outsider, front_desk):
        with pytest.raises(NotAllowed, match="You may not do this"):
            report_request(actor=outsider.as_actor(), job=bay.job, now=bay.workshop.now)
        with pytest.raises(NotAllowed, match="You may not do this"):
            report_request(actor=SYSTEM, job=bay.job, now=bay.workshop.now)

        assert report_request(actor=front_desk.as_actor(), job=bay.job, now=bay.workshop.now).pk


class TestMaking:
    def test_keeps_the_file_and_ends_ready(self, bay, files):
        report = opened(bay)

        report_make(report_id=report.pk, now=bay.workshop.now)

        report.refresh_from_db()
        assert (report.status, report.progress, report.attempts) == (ReportStatus.READY, 100, 1)
        kept = Path(report.file.path)
        assert files in kept.parents
        assert bay.job.number in text_of(kept.read_bytes())

    def test_run_twice_makes_one_file(self, bay):
        report = opened(bay)
        report_make(report_id=report.pk, now=bay.workshop.now)
        name = Report.objects.get(pk=report.pk).file.name

        report_make(report_id=report.pk, now=bay.workshop.later())

        assert Report.objects.get(pk=report.pk).file.name == name

    def test_does_nothing_for_a_report_that_somebody_else_makes_or_that_is_gone(self, bay):
        report = opened(bay)
        Report.objects.update(status=ReportStatus.RUNNING, attempts=1)

        report_make(report_id=report.pk, now=bay.workshop.now)
        report_make(report_id=report.pk + 1, now=bay.workshop.now)

        assert Report.objects.get().status == ReportStatus.RUNNING

    def test_shows_its_progress_while_it_works(self, bay):
        report, seen = opened(bay), []

        def look(*_arguments: object, **_options: object) -> bytes:
            seen.append(Report.objects.values_list("status", "progress", "message").get())
            return b"%PDF"

        with patch("jobs.services.report_making.typeset", look):
            report_make(report_id=report.pk, now=bay.workshop.now)

        assert seen == [(ReportStatus.RUNNING, 40, "Setting the pages")]

    def test_that_lost_its_claim_writes_nothing_and_leaves_no_file(self, bay, files):
        report = opened(bay)

        def another_begins(*_arguments: object, **_options: object) -> bytes:
            Report.objects.update(attempts=2)
            return b"%PDF"

        with patch("jobs.services.report_making.typeset", another_begins):
            report_make(report_id=report.pk, now=bay.workshop.now)

        report.refresh_from_db()
        assert (report.status, report.file.name) == (ReportStatus.RUNNING, "")
        assert [path for path in files.rglob("*") if path.is_file()] == []

    def test_ends_as_failed_with_a_sentence_when_it_can_not_be_made(self, bay):
        report = opened(bay)

        with (
            patch("jobs.services.report_making.typeset", broken(ZeroDivisionError("a bug"))),
            pytest.raises(ZeroDivisionError, match="a bug"),
        ):
            report_make(report_id=report.pk, now=bay.workshop.now)

        report.refresh_from_db()
        assert report.status == ReportStatus.FAILED
        assert report.message.startswith("The record could not be made. Try again")

    @pytest.mark.parametrize("error", [OSError("disk full"), OperationalError("restarting")])
    def test_goes_back_to_the_queue_for_what_passes_by_itself(self, bay, error):
        report = opened(bay)

        with (
            patch("jobs.services.report_making.typeset", broken(error)),
            pytest.raises(type(error), match=str(error)),
        ):
            report_make(report_id=report.pk, now=bay.workshop.now)

        report.refresh_from_db()
        assert report.status == ReportStatus.QUEUED
        report_make(report_id=report.pk, now=bay.workshop.now)
        assert Report.objects.get().status == ReportStatus.READY

    def test_is_given_up_after_it_was_begun_too_often(self, bay):
        report = opened(bay)
        Report.objects.update(attempts=MOST_ATTEMPTS)

        report_make(report_id=report.pk, now=bay.workshop.now)

        report.refresh_from_db()
        assert report.status == ReportStatus.FAILED


class TestResuming:
    @pytest.mark.parametrize("status", [ReportStatus.QUEUED, ReportStatus.RUNNING])
    def test_hands_over_again_what_stands_still(
        self, bay, handed_over, django_capture_on_commit_callbacks, status
    ):
        report = opened(bay)
        Report.objects.update(status=status, attempts=1)

        with django_capture_on_commit_callbacks(execute=True):
            assert reports_resume(now=much_later(bay)) == 1

        handed_over.assert_called_once_with(report_id=report.pk)
        assert Report.objects.get().status == ReportStatus.QUEUED

    def test_leaves_alone_what_is_being_made_or_finished(self, bay, handed_over):
        report = opened(bay)
        assert reports_resume(now=bay.workshop.now + STANDS_STILL_AFTER) == 0

        report_make(report_id=report.pk, now=bay.workshop.now)

        assert reports_resume(now=much_later(bay)) == 0
        assert Report.objects.get().status == ReportStatus.READY

    def test_gives_up_what_was_begun_too_often(self, bay, handed_over):
        opened(bay)
        Report.objects.update(status=ReportStatus.RUNNING, attempts=MOST_ATTEMPTS)

        assert reports_resume(now=much_later(bay)) == 0

        assert Report.objects.get().status == ReportStatus.FAILED

    def test_happens_at_once_when_somebody_asks_again(
        self, bay, handed_over, django_capture_on_commit_callbacks
    ):
        report = opened(bay)
        Report.objects.update(status=ReportStatus.RUNNING, attempts=1)

        with django_capture_on_commit_callbacks(execute=True):
            again = report_request(actor=bay.technician, job=bay.job, now=much_later(bay))

        assert (again, again.status) == (report, ReportStatus.QUEUED)
        handed_over.assert_called_once_with(report_id=report.pk)


class TestTasks:
    def test_load_and_delegate(self):
        with patch("jobs.tasks.report_make") as make, patch("jobs.tasks.reports_resume") as resume:
            report_make_task(report_id=7, a_later_version="knows more")
            reports_resume_task(a_later_version="knows more")

        assert make.call_args.kwargs["report_id"] == 7
        assert resume.call_count == 1

    def test_are_known_to_the_worker_and_to_the_clock(self):
        scheduled = {entry["task"] for entry in app.conf.beat_schedule.values()}

        assert {"jobs.report_make", "jobs.reports_resume"} <= set(app.tasks)
        assert "jobs.reports_resume" in scheduled


class TestCommands:
    def test_make_a_record_by_hand_and_say_where_it_lies(self, bay):
        written = StringIO()

        call_command("report_make", bay.job.number, "--for", "tilda", stdout=written)

        report = Report.objects.get()
        assert written.getvalue().strip() == report.file.path
        assert report.requested_by.username == "tilda"

    def test_refuse_strangers_and_unknown_jobs(self, bay, outsider):
        with pytest.raises(CommandError, match="Nobody signs in as nobody"):
            call_command("report_make", bay.job.number, "--for", "nobody")
        with pytest.raises(CommandError, match="sees no job"):
            call_command("report_make", bay.job.number, "--for", outsider.username)
        with pytest.raises(CommandError, match="sees no job J-0"):
            call_command("report_make", "J-0", "--for", "tilda")

    def test_take_up_by_hand_what_stands_still(self, bay, handed_over):
        opened(bay)
        written = StringIO()

        call_command("reports_resume", stdout=written)

        assert written.getvalue() == "1 reports were handed over again.\n"
