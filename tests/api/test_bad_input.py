"""Rubbish at the REST doors of the steps: a named refusal for each, never an error of the server."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

import pytest
from django.urls import reverse
from rest_framework.test import APIClient

from jobs.choices import StepKind
from jobs.models import StepRecord
from shopcool.people.models import User
from tests.api.test_reading import client_of
from tests.equipment.workshop import Workshop
from tests.jobs.bay import Bay

pytestmark = pytest.mark.django_db

BODIES: list[Any] = [
    None, [], "rubbish", 5, {}, {"values": None}, {"values": []}, {"values": "x"}, {"values": {"a": None}},
    {"values": {"label": {"a": [1, {"b": None}]}, "low": [[]], "mass": {}, "parts": [None], "extra": 1}},
]  # fmt: skip
#: What comes beside the values, each time one thing wrong.
BESIDE: list[tuple[str, Any]] = [
    ("seen", -1), ("seen", 1e300), ("seen", "many"), ("seen", None),
    ("idempotency_key", "no key"), ("idempotency_key", [1]), ("idempotency_key", None),
    ("note", "x" * 1001), ("note", ["x"]), ("note", "\x00"),
    ("occurred_at", "yesterday"), ("occurred_at", "2999-01-01T00:00:00Z"), ("occurred_at", [1]),
]  # fmt: skip
#: What no program should send, but some do: broken text, numbers beyond all range, not-a-number.
TEXTS = [
    b"", b"{", b"\xff\xfe", b'{"values": {"label": 1e400}}', b'{"values": {"label": NaN}}',
    b'{"values": {"label": "\\ud800", "complaint": "\\u0000"}}', b"[" * 2000 + b"]" * 2000,
    b'{"values": {"label": ' + b"[" * 40 + b"]" * 40 + b"}}",
]  # fmt: skip


@pytest.fixture
def bay(monkeypatch: pytest.MonkeyPatch) -> Bay:
    """An electric car that has just come in."""
    bay = Bay(Workshop()).checked_in()
    monkeypatch.setattr("jobs.api_steps.now", lambda: bay.workshop.now)
    return bay


@pytest.fixture
def program(bay: Bay) -> APIClient:
    """A program with a technician's token; an error of the server would end the test."""
    return client_of(User.objects.get(username="tilda"))


def refused(answer: Any) -> bool:
    """Return whether an answer is a refusal with its code and its sentence."""
    found = answer.json()
    return answer.status_code in {400, 409} and bool(found["code"]) and len(found["message"]) > len("No.")


def test_every_step_refuses_values_of_every_shape(bay: Bay, program: APIClient) -> None:
    for kind in StepKind:
        url = reverse("api:job_step_answer", args=[bay.job.number, kind.value])
        assert refused(program.post(url, BODIES[-1], format="json")), kind
    assert not StepRecord.objects.exists()


class TestLabel:
    """The one step that may be recorded at once, so that its values are read."""

    @pytest.fixture
    def url(self, bay: Bay) -> str:
        return reverse("api:job_step", args=[bay.job.number, StepKind.LABEL.value])

    def test_refuses_bodies_of_every_shape(self, program: APIClient, url: str) -> None:
        for body in BODIES:
            for door in (url, f"{url}answer/"):
                assert refused(program.post(door, body, format="json")), (door, body)
        assert not StepRecord.objects.exists()

    def test_refuses_text_that_is_no_json(self, program: APIClient, url: str) -> None:
        for text in TEXTS:
            assert refused(program.post(url, text, content_type="application/json")), text
        assert not StepRecord.objects.exists()

    def test_blames_what_came_beside_the_values(self, program: APIClient, url: str) -> None:
        for name, sent in BESIDE:
            body = {"values": {"label": "READ"}, "seen": 0, "idempotency_key": str(uuid4())}

            answer = program.post(url, body | {name: sent}, format="json")

            assert refused(answer), (name, sent)
            assert list(answer.json()["fields"]) == [name]
        assert not StepRecord.objects.exists()

    def test_leaves_out_what_no_field_asks_for(self, program: APIClient, url: str) -> None:
        values = {"label": "READ", "difference": "never asked for", "surprise": {"a": [1]}}
        body = {"values": values, "seen": 0, "idempotency_key": str(uuid4())}

        assert program.post(url, body, format="json").status_code == 201
        assert set(StepRecord.objects.get().values) == {"label"}
