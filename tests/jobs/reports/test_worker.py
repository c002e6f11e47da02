"""A real worker and a real broker: a report whose worker is killed is finished by the next one."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

import pytest
from django.conf import settings
from django.db import connection, transaction
from kombu.exceptions import OperationalError as BrokerError

from jobs.choices import ReportStatus
from jobs.models import Report
from jobs.services.report_requests import STANDS_STILL_AFTER, report_request, reports_resume
from jobs.tasks import report_make_task
from shopcool.celery import app
from shopcool.core import clock
from tests.core.documents.reading import text_of

#: A worker starts in three seconds, but not on a machine where everything else runs as well.
PATIENCE_S = 90.0


@pytest.fixture
def queue(monkeypatch: pytest.MonkeyPatch) -> str:
    """A queue of this test alone; without a broker there is nothing to try."""
    try:
        with app.connection_for_write() as broker:
            broker.ensure_connection(max_retries=1, timeout=2)
    except (BrokerError, OSError):
        pytest.skip("no broker answers under REDIS_URL")
    return own_queue(monkeypatch)


def own_queue(monkeypatch: pytest.MonkeyPatch) -> str:
    """Send reports to a queue of the test's own, which no other worker empties, and return its name."""
    name = f"test-{uuid4().hex}"
    monkeypatch.setattr(report_make_task, "queue", name, raising=False)
    # A task remembers its options from the first time it was sent.
    monkeypatch.setattr(report_make_task, "_exec_options", None, raising=False)
    return name


@contextmanager
def worker(queue: str, data: Path) -> Iterator[subprocess.Popen[bytes]]:
    """Run a worker on the test's database, and kill it at the end if it still lives."""
    database = connection.settings_dict
    address = f"dbname={database['NAME']} user={database['USER']} host={database['HOST']}"
    if database["PORT"]:
        address += f" port={database['PORT']}"
    environment = {
        **os.environ,
        "DATABASE_URL": address if not database["PASSWORD"] else f"{address} password={database['PASSWORD']}",
        "REDIS_URL": settings.REDIS_URL,
        "SHOPCOOL_DEBUG": "yes",
        "SHOPCOOL_DATA": str(data),
    }
    options = ["--pool", "solo", "--without-gossip", "--without-mingle", "--without-heartbeat"]
    with (data / "worker.log").open("ab") as log:
        process = subprocess.Popen(
            [sys.executable, "-m", "celery", "-A", "shopcool", "worker", "-Q", queue, *options],
            cwd=settings.BASE_DIR, env=environment, stdout=log, stderr=log,
        )  # fmt: skip
        try:
            yield process
        finally:
            process.kill()
            process.wait()


def wait_for(what: Callable[[], bool], log: Path) -> None:
    """Wait until something holds, or fail with the end of the worker's log."""
    end = time.monotonic() + PATIENCE_S
    while not what():
        assert time.monotonic() < end, log.read_text()[-2000:]
        time.sleep(0.1)


def status() -> str:
    return Report.objects.values_list("status", flat=True).get()


@pytest.mark.django_db(transaction=True)
def test_a_report_survives_the_death_of_its_worker(bay, queue, tmp_path, files):
    log = tmp_path / "worker.log"
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
