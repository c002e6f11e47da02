"""Twenty people at once on the page of a job, and what a page weighs for who opens it the first time.

A real gunicorn with the workshop's own settings serves it; each client is a thread with an open connection.
"""

from __future__ import annotations

import gzip
import os
import re
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from statistics import quantiles
from urllib.parse import urljoin

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.db import connection  # noqa: E402
from django.test import Client, override_settings  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402
from django.urls import reverse  # noqa: E402
from django.utils import timezone  # noqa: E402
from psycopg.conninfo import make_conninfo  # noqa: E402

from jobs.choices import JobStatus, StepKind  # noqa: E402
from jobs.demo.load import demo_load  # noqa: E402
from jobs.models import Job  # noqa: E402
from jobs.pages.ways import step_url  # noqa: E402
from shopcool.people.models import User  # noqa: E402
from tests.benchmarks import Result  # noqa: E402
from tests.benchmarks.bench_clearance import throwaway_database  # noqa: E402

USERS, LOOKS, ROUNDS = 20, 10, 3
READER = "ingrid"
URLS = "tests.benchmarks.empty_page"
PLAIN_STATIC = "django.contrib.staticfiles.storage.StaticFilesStorage"
#: What may go over the wire when a page is opened for the first time, style and scripts included [bytes].
FIRST_TIME = 80_000
ASSET = re.compile(r'(?:href|src)="(/static/[^"]+\.(?:css|js|svg))"')
IMPORTED = re.compile(r'url\("?([^")]+\.css)"?\)')


def benchmarks() -> list[Result]:
    """Return the job page against an empty one under load, and the first-time weight of the main pages."""
    with throwaway_database():
        demo_load(timezone.now())
        cookie = _signed_in(READER)
        job = Job.objects.filter(status=JobStatus.CHECKED_IN).latest("checked_in_at")
        with _served() as port:
            return [*_under_load(port, cookie, job), *(_weight(port, cookie, *page) for page in _pages(job))]


def _signed_in(name: str) -> str:
    """Return the cookie of a person who has signed in."""
    client = Client()
    client.force_login(User.objects.get(username=name))
    return f"{settings.SESSION_COOKIE_NAME}={client.cookies[settings.SESSION_COOKIE_NAME].value}"


def _pages(job: Job) -> list[tuple[str, str]]:
    return [
        ("today", "/"),
        ("job", reverse("jobs:job", args=[job.number])),
        ("step", step_url(job.number, StepKind.READINGS_BEFORE)),
        ("board", reverse("equipment:board")),
        ("line purge", reverse("equipment:purge")),
        ("vehicle", reverse("vehicles:detail", args=[job.circuit.vehicle_id])),
        ("records", reverse("jobs:records")),
    ]


@contextmanager
def _served() -> Iterator[int]:
    """Serve the throwaway database with two workers, as ``make run`` does, and yield the port."""
    with tempfile.TemporaryDirectory() as folder, socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen(64)
        environment = _environment(folder, listening.fileno())
        collect = [sys.executable, "manage.py", "collectstatic", "--noinput", "--verbosity", "0"]
        subprocess.run(collect, cwd=settings.BASE_DIR, env=environment, check=True)
        command = [sys.executable, "-m", "gunicorn", "shopcool.wsgi"]
        command += ["--config", "python:shopcool.standalone.web_server"]
        with (Path(folder) / "web.log").open("wb") as log:
            server = subprocess.Popen(
                command, cwd=settings.BASE_DIR, env=environment, pass_fds=(listening.fileno(),),
                stdout=log, stderr=log,
            )  # fmt: skip
            try:
                port = int(listening.getsockname()[1])
                _wait_for(port)
                yield port
            finally:
                server.terminate()
                server.wait()


def _environment(folder: str, listening_fd: int) -> dict[str, str]:
    parts = {"dbname": "NAME", "user": "USER", "host": "HOST", "port": "PORT", "password": "PASSWORD"}
    known = {key: str(connection.settings_dict[name]) for key, name in parts.items()}
    return {
        **os.environ,
        "DATABASE_URL": make_conninfo(**{key: value for key, value in known.items() if value}),
        "DJANGO_SETTINGS_MODULE": "tests.benchmarks.served_settings",
        "SHOPCOOL_ALLOWED_HOSTS": "127.0.0.1",
        "SHOPCOOL_DATA": folder,
        "SHOPCOOL_LISTEN": f"fd://{listening_fd}",
    }


def _wait_for(port: int) -> None:
    """Wait until the server has answered; by then both workers are loaded."""
    _Browser(port, "").get(reverse("people:sign_in"))


class _Browser:
    """One open connection that asks for pages as a browser does: compressed, with its cookie."""

    def __init__(self, port: int, cookie: str) -> None:
        self.connection = HTTPConnection("127.0.0.1", port, timeout=60)
        self.headers = {"Accept-Encoding": "gzip", "Cookie": cookie}

    def get(self, address: str) -> bytes:
        """Return the body of a page, still compressed; raises AssertionError unless it was found."""
        self.connection.request("GET", address, headers=self.headers)
        response = self.connection.getresponse()
        body = response.read()
        if response.status != 200:
            raise AssertionError(f"{address} answered {response.status}.")
        self.sent = len(body) + sum(len(name) + len(value) + 4 for name, value in response.getheaders())
        self.is_compressed = response.getheader("Content-Encoding") == "gzip"
        return body

    def text(self, address: str) -> str:
        """Return the text of a page."""
        body = self.get(address)
        return (gzip.decompress(body) if self.is_compressed else body).decode()


def _under_load(port: int, cookie: str, job: Job) -> list[Result]:
    """Return the 95th percentile of the job page over that of empty ones, measured in turns."""
    addresses = (reverse("jobs:job", args=[job.number]), _empty(0), _empty(_more_queries(job)))
    for address in addresses:
        _patience(port, cookie, address)  # both workers warm
    turns = [[_patience(port, cookie, address) for address in addresses] for _ in range(ROUNDS)]
    page, idle, asking = (min(times) for times in zip(*turns, strict=True))
    return [
        _ratio("with as many queries", page / asking, 3.0),
        _ratio("that asks nothing", page / idle, 4.5),
    ]


def _ratio(kind: str, ratio: float, limit: float) -> Result:
    return {
        "name": f"job page over an empty one {kind}, p95 of {USERS} people",
        "ratio": ratio,
        "limit": limit,
    }


def _empty(queries: int) -> str:
    return f"/empty/{queries}/"


def _more_queries(job: Job) -> int:
    """Return how many more queries the job page makes than the frame around it."""
    client = Client()
    client.force_login(User.objects.get(username=READER))
    plain = {**settings.STORAGES, "staticfiles": {"BACKEND": PLAIN_STATIC}}
    with override_settings(STORAGES=plain, ROOT_URLCONF=URLS, ALLOWED_HOSTS=["testserver"]):
        counted = []
        for address in (reverse("jobs:job", args=[job.number]), _empty(0)):
            with CaptureQueriesContext(connection) as queries:
                client.get(address)
            counted.append(len(queries))
    return counted[0] - counted[1]


def _patience(port: int, cookie: str, address: str) -> float:
    """Return how long 19 of 20 looks take at most [s] when everybody looks again at once."""
    with ThreadPoolExecutor(USERS) as people:
        waited = list(people.map(lambda _person: _looks(port, cookie, address), range(USERS)))
    return quantiles([one for looks in waited for one in looks], n=20)[-1]


def _looks(port: int, cookie: str, address: str) -> list[float]:
    browser, waited = _Browser(port, cookie), []
    for _look in range(LOOKS):
        started = time.perf_counter()
        browser.get(address)
        waited.append(time.perf_counter() - started)
    return waited


def _weight(port: int, cookie: str, name: str, address: str) -> Result:
    """Return what a page sends when nothing of it is kept yet, over what it may."""
    browser = _Browser(port, cookie)
    wanted = ASSET.findall(browser.text(address))
    weight = browser.sent
    for asset in (waiting := list(dict.fromkeys(wanted))):
        text = browser.text(asset)
        weight += browser.sent
        waiting += [one for one in _imported(asset, text) if one not in waiting]
    return {"name": f"first look at {name}, over 80 KB", "ratio": weight / FIRST_TIME, "limit": 1.0}


def _imported(asset: str, text: str) -> list[str]:
    return [urljoin(asset, name) for name in IMPORTED.findall(text)] if asset.endswith(".css") else []
