"""Fixtures of the whole suite, by the noun they are about."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from hypothesis import HealthCheck
from hypothesis import settings as patience
from pytest_django import DjangoDbBlocker

from tests.template_database import TemplateDatabase, wait_for_template

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


TEMPLATE = pytest.StashKey[TemplateDatabase]()


def pytest_configure(config: pytest.Config) -> None:
    """Begin to make the database that the processes of a parallel run copy."""
    template = TemplateDatabase()
    is_parallel = config.getoption("numprocesses", None) and not config.getoption("reuse_db")
    if is_parallel and template.begin():
        config.stash[TEMPLATE] = template


@pytest.hookimpl(optionalhook=True)
def pytest_configure_node(node: Any) -> None:
    """Tell a process of a parallel run which database to copy."""
    if TEMPLATE in node.config.stash:
        template = node.config.stash[TEMPLATE]
        node.workerinput["template_database"] = (template.name, str(template.lock))


def pytest_collection_finish() -> None:
    """Leave alone what was loaded: to look through it for garbage again and again is work for nothing."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Let each process of a parallel run begin with its share of the longest tests; none is left for the end.

    At the start every process gets an equal part of the list, in its order; those of one file stay together.
    """
    processes = int(getattr(config, "workerinput", {}).get("workercount", 1))
    if processes == 1:
        return
    long = [item for item in items if item.get_closest_marker("long")]
    others = [item for item in items if not item.get_closest_marker("long")]
    files = list(dict.fromkeys(item.path for item in long))
    part = len(items) // processes
    ordered: list[pytest.Item] = []
    for number in range(processes):
        first = [item for item in long if files.index(item.path) % processes == number]
        rest = max(part - len(first), 0)
        ordered += first + others[:rest]
        del others[:rest]
    items[:] = ordered + others


def pytest_unconfigure(config: pytest.Config) -> None:
    """Remove the database that was copied."""
    if TEMPLATE in config.stash:
        config.stash[TEMPLATE].end()


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    request: pytest.FixtureRequest, django_db_modify_db_settings_parallel_suffix: None
) -> None:
    """Copy the migrated database of a parallel run where there is one."""
    name, lock = getattr(request.config, "workerinput", {}).get("template_database", ("", ""))
    if name:
        wait_for_template(lock)
        settings.DATABASES["default"]["TEST"] |= {"TEMPLATE": name, "MIGRATE": False}


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
