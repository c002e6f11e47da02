"""Fixtures of the tests about the record of a job."""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy
from pathlib import Path

import pytest
from django.db import transaction
from pytest_django.fixtures import Settings
from pytest_django.plugin import DjangoDbBlocker

from tests.equipment.workshop import Workshop
from tests.jobs.bay import Bay
from tests.jobs.reports.visit_told import tell_closed_visit


@pytest.fixture(autouse=True)
def files(settings: Settings, tmp_path: Path) -> Path:
    """Keep the files of a test away from those of the workshop."""
    settings.MEDIA_ROOT = tmp_path / "files"
    return tmp_path / "files"


@pytest.fixture(scope="module")
def told_visit(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Bay]:
    """A closed job with a correction, a refusal, an override, a weak and a good purge; told once a module.

    It stands in a transaction around those of the tests, and goes with it.
    """
    with django_db_blocker.unblock(), transaction.atomic():
        yield tell_closed_visit(Bay(Workshop()))
        transaction.set_rollback(True)


@pytest.fixture
def closed_bay(told_visit: Bay, db: None) -> Bay:
    """The closed job of the module; what a test changes is undone after it."""
    return copy(told_visit)
