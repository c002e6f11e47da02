"""Real workers and beats on a real broker, with a queue that no other test's worker empties."""

from __future__ import annotations

import json
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
    options = ["--pool", "solo", "--without-gossip", "--without-mingle", "--without-heartbeat"]
    command = ["worker", "-Q", queue, *options, "--", f"task_default_queue={queue}"]
    with _celery(command, data, data / "worker.log", **more) as process:
        yield process


@contextmanager
def beat(entry: str, queue: str, data: Path, every_s: float) -> Iterator[Path]:
    """Run a beat as the shop does, with one entry of the shop's schedule that comes more often [s].

    Yields its log, and kills it at the end.
    """
    planned = app.conf.beat_schedule[entry]
    often = {**planned, "schedule": every_s, "options": {**planned["options"], "queue": queue}}
    data.mkdir()
    options = ["--loglevel", "INFO", "--pidfile="]
    schedule = f"beat_schedule=(dict){json.dumps({entry: often})}"
    with _celery(["beat", *options, "--", schedule], data, data / "beat.log"):
        yield data / "beat.log"


@contextmanager
def _celery(command: list[str], data: Path, log: Path, **more: str) -> Iterator[subprocess.Popen[bytes]]:
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
    whole = [sys.executable, "-m", "celery", "-A", "shopcool", *command]
    with log.open("ab") as output:
        process = subprocess.Popen(
            whole, cwd=settings.BASE_DIR, env=environment, stdout=output, stderr=output
        )
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
