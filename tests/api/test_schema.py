"""The OpenAPI text is complete, and every door answers as it says."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import schemathesis
from django.core.management import call_command
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from hypothesis import HealthCheck, given, settings
from rest_framework.authtoken.models import Token
from rest_framework.throttling import SimpleRateThrottle
from schemathesis.checks import (
    content_type_conformance,
    not_a_server_error,
    response_schema_conformance,
)

from shopcool.people.models import User
from shopcool.wsgi import application
from tests.equipment.workshop import Workshop
from tests.jobs.bay import Bay

CHECKS = [not_a_server_error, content_type_conformance, response_schema_conformance]


@pytest.fixture
def in_one_transaction(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Let the application answer inside the test's transaction, more often than a person may ask."""
    monkeypatch.setattr(SimpleRateThrottle, "THROTTLE_RATES", {"anon": None, "user": None})
    signals = (request_started, request_finished)
    for signal in signals:
        signal.disconnect(close_old_connections)
    yield
    for signal in signals:
        signal.connect(close_old_connections)


def test_schema_is_generated_without_a_warning(tmp_path: Path) -> None:
    file = tmp_path / "schema.yml"

    call_command("spectacular", "--validate", "--fail-on-warn", "--file", str(file))

    assert "/api/v1/jobs/{number}/clearance-check/:" in file.read_text()


@pytest.mark.long
@pytest.mark.django_db
def test_every_door_answers_as_the_schema_says(in_one_transaction: None) -> None:
    bay = Bay(Workshop()).up_to_connection()
    token = Token.objects.create(user=User.objects.get(username="tilda"))
    headers = {"Authorization": f"Token {token.key}", "Accept-Encoding": "identity"}
    schema = schemathesis.openapi.from_wsgi("/api/v1/schema/?format=json", application, headers=headers)
    known = {"number": bay.job.number, "code": "M-1", "kind": "READINGS_BEFORE"}
    tried = []

    def call(case: schemathesis.Case) -> None:
        for name, value in known.items():
            if name in case.path_parameters:
                case.path_parameters[name] = value
        case.call_and_validate(headers=headers, checks=CHECKS)

    patient = settings(
        max_examples=10,
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    for found in schema.get_all_operations():
        operation = found.ok()
        patient(given(operation.as_strategy())(call))()
        tried.append(operation.label)

    assert "POST /api/v1/jobs/{number}/clearance-check/" in tried
    assert len(tried) >= 14
