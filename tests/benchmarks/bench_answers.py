"""What a person waits for at the car: the answer of every step while they type, through the page itself."""

from __future__ import annotations

import time
from collections.abc import Iterator
from unittest.mock import patch

import django

django.setup()

from django.test import Client  # noqa: E402
from django.test.utils import setup_test_environment, teardown_test_environment  # noqa: E402

from jobs.choices import StepKind  # noqa: E402
from jobs.pages.ways import step_url  # noqa: E402
from shopcool.core import clock  # noqa: E402
from shopcool.people.models import User  # noqa: E402
from tests.benchmarks import Result  # noqa: E402
from tests.benchmarks.bench_clearance import throwaway_database  # noqa: E402
from tests.equipment.workshop import Workshop  # noqa: E402
from tests.jobs.bay import BEFORE_CONNECTION, WHILE_CONNECTED, Bay  # noqa: E402

#: What a person may wait for the answer to a keystroke [s].
ANSWER_S = 0.150
TIMES = 12
RUNNING = {
    "state": "RUNNING", "low": "29 psi", "high": "200 psi", "ambient": "30 °C", "suction": "12 °C",
    "liquid": "42 °C", "discharge": "70 °C", "vent": "9 °C", "mode": "cabin_cooling", "steady": "10",
}  # fmt: skip
#: An electronic gauge that was read every two seconds for twenty minutes: a leak with moisture beside it.
CURVE = "\n".join(("s Pa", *(f"{2 * n} {90 + 0.05 * n + 40 * (1 - 0.99**n):.2f}" for n in range(600))))
FOLLOWED = {"gauge": "FOLLOWED", "curve": CURVE, "gauge_step": "0.1 Pa"}
#: The step, what is typed into it, and what the answer must then show.
TYPED = {
    "readings": (StepKind.READINGS_BEFORE, RUNNING, "diagram__cycle--now"),
    "vacuum curve of 600 points": (StepKind.EVACUATION, FOLLOWED, "plot__line"),
}


def benchmarks() -> list[Result]:
    """Return the answer of the slowest plain step, and of the steps that compute most."""
    setup_test_environment()
    try:
        with throwaway_database():
            return list(_walk(Bay(Workshop()).checked_in()))
    finally:
        teardown_test_environment()


def _walk(bay: Bay) -> Iterator[Result]:
    """Do the job step by step, and ask for each answer before it is recorded."""
    with patch.object(clock, "now", lambda: bay.workshop.later(0.1)):
        client = Client(headers={"HX-Request": "true"})
        client.force_login(User.objects.get(username="tilda"))
        waited: dict[str, float] = {}
        for kind in (*BEFORE_CONNECTION, *WHILE_CONNECTED):
            for name, (of_kind, typed, shown) in TYPED.items():
                if of_kind is kind:
                    waited[name] = _seconds(client, bay, kind, typed, shown)
            waited[str(kind.label)] = _seconds(client, bay, kind, {}, 'id="answer"')
            bay.record(kind)
            if kind is BEFORE_CONNECTION[-1]:
                bay.connect()
    plain = {name: seconds for name, seconds in waited.items() if name not in TYPED}
    slowest = max(plain, key=plain.__getitem__)
    for name in (slowest, *TYPED):
        yield {
            "name": f"answer while typing: {name}, over 150 ms",
            "ratio": waited[name] / ANSWER_S,
            "limit": 1.0,
        }


def _seconds(client: Client, bay: Bay, kind: StepKind, typed: dict[str, str], shown: str) -> float:
    """Return how long an answer takes [s], its database included; the shortest of some, as load only adds."""
    raw = bay.raw(kind, **typed) | {"check": "yes"}
    address = step_url(bay.job.number, kind)
    return min(_once(client, address, raw, shown) for _ in range(TIMES))


def _once(client: Client, address: str, raw: dict[str, object], shown: str) -> float:
    started = time.perf_counter()
    response = client.post(address, raw)
    waited = time.perf_counter() - started
    if response.status_code != 200 or shown not in response.content.decode():
        raise AssertionError(f"{address} does not show {shown}: {response.status_code}")
    return waited
