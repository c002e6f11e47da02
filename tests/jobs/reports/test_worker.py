"""A real worker and a real broker: a report whose worker is killed is finished by the next one."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.db import connection, transaction

from jobs.choices import ReportStatus
from jobs.models import Report
from jobs.services.report_requests import STANDS_STILL_AFTER, report_request, reports_resume
from jobs.tasks import report_make_task
from shopcool.core import clock
from tests.core.documents.reading import text_of
from tests.workers import own_queue, wait_for, worker


def status() -> str:
    return Report.objects.values_list("status", flat=True).get()


@pytest.mark.django_db(transaction=True)
def test_a_report_survives_the_death_of_its_worker(bay, monkeypatch, tmp_path, files):
    queue, log = own_queue(monkeypatch, report_make_task), tmp_path / "worker.log"
    report_request(actor=bay.technician, job=bay.job, now=clock.now())

    with transaction.atomic(), connection.cursor() as cursor:
        # The worker has to wait for this table, so it is killed in the middle of its work.
        cursor.execute("LOCK TABLE jobs_steprecord IN ACCESS EXCLUSIVE MODE")
        with worker(queue, tmp_path):
            wait_for(lambda: status() == ReportStatus.RUNNING, log)
    assert status() == ReportStatus.RUNNING
    assert reports_resume(now=clock.now() + STANDS_STILL_AFTER * 2) == 1
    with worker(queue, tmp_path):
        wait_for(lambda: status() == ReportStatus.READY, log)

    report = Report.objects.get()
    assert report.attempts == 2
    assert bay.job.number in text_of(Path(report.file.path).read_bytes())
