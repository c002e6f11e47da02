"""A real worker on a real broker, with a queue that no other test's worker empties."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from celery import Task
from django.conf import settings
from django.db import connection
from kombu.exceptions import OperationalError as BrokerError

from shopcool.celery import app

#: A worker starts in three seconds, but not on a machine where everything else runs as well.
PATIENCE_S = 90.0


def own_queue(monkeypatch: pytest.MonkeyPatch, *tasks: Task[Any, Any]) -> str:
    """Send tasks to a queue of the test's own, which no other worker empties, and return its name.

    Without a broker there is nothing to try, so the test is skipped.
    """
    try:
        with app.connection_for_write() as broker:
            broker.ensure_connection(max_retries=1, timeout=2)
    except (BrokerError, OSError):
        pytest.skip("no broker answers under REDIS_URL")
    name = f"test-{uuid4().hex}"
    for task in tasks:
        monkeypatch.setattr(task, "queue", name, raising=False)
        # A task remembers its options from the first time it was sent.
        monkeypatch.setattr(task, "_exec_options", None, raising=False)
    return name


@contextmanager
def worker(queue: str, data: Path, **more: str) -> Iterator[subprocess.Popen[bytes]]:
    """Run a worker on the test's database with more variables, and kill it at the end if it still lives.

    What its tasks send goes to the same queue.
    """
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
        **more,
    }
    options = ["--pool", "solo", "--without-gossip", "--without-mingle", "--without-heartbeat"]
    command = [sys.executable, "-m", "celery", "-A", "shopcool", "worker", "-Q", queue, *options]
    with (data / "worker.log").open("ab") as log:
        process = subprocess.Popen(
            [*command, "--", f"task_default_queue={queue}"],
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
