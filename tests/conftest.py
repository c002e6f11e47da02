"""Fixtures of the whole suite, by the noun they are about."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.conf import settings
from django.db import connection
from hypothesis import HealthCheck
from hypothesis import settings as patience
from pytest_django import DjangoDbBlocker

# Deterministic, and without a deadline that a busy machine would break.
patience.register_profile(
    "suite", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
patience.load_profile("suite")

pytest_plugins = ["tests.people_fixtures"]

OTHERS = """
SELECT pg_terminate_backend(pid) FROM pg_stat_activity
WHERE datname = current_database() AND pid <> pg_backend_pid()
"""


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """End the sessions of servers and workers that a test has killed, so that the database can be dropped."""
    yield
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute(OTHERS)


@pytest.fixture(autouse=True, scope="session")
def files_of_the_suite(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Keep what tests attach away from the files of whoever runs them."""
    settings.MEDIA_ROOT = tmp_path_factory.mktemp("files")
