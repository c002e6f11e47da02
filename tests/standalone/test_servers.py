"""The real servers from their wheels: private, restartable, and honest about what is in the way."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import psutil
import psycopg
import pytest

from shopcool.standalone.children import Child
from shopcool.standalone.errors import CannotStart
from shopcool.standalone.folder import DataFolder
from shopcool.standalone.services import Services, throwaway_services
from shopcool.standalone.supervisor import Backoff, Supervisor


@pytest.fixture(scope="module")
def supervisor() -> Iterator[Supervisor]:
    """The supervisor of the module's servers."""
    supervisor = Supervisor()
    yield supervisor
    supervisor.stop()


@pytest.fixture(scope="module")
def services(supervisor: Supervisor, tmp_path_factory: pytest.TempPathFactory) -> Services:
    """The servers of a new shop, running."""
    services = Services(DataFolder(tmp_path_factory.mktemp("shop")))
    services.start(supervisor)
    return services


def query(url: str, text: str) -> object:
    """Return the first value of a query's first row."""
    with psycopg.connect(url) as connection:
        row = connection.execute(text).fetchone()  # type: ignore[arg-type]
    assert row is not None
    return row[0]


def child_named(supervisor: Supervisor, name: str) -> Child:
    """Return a child by the name of its program."""
    return next(
        supervised.child for supervised in supervisor.supervised if supervised.child.program.name == name
    )


class TestPostgresql:
    def test_is_the_version_of_production(self, services: Services) -> None:
        assert str(query(services.postgresql.url(), "SHOW server_version")).startswith("18.")

    @pytest.mark.parametrize("extension", ["btree_gist", "pg_trgm"])
    def test_the_application_s_role_may_add_the_extensions_it_needs(
        self, services: Services, extension: str
    ) -> None:
        with psycopg.connect(services.postgresql.url(), autocommit=True) as connection:
            connection.execute(f"CREATE EXTENSION IF NOT EXISTS {extension}")  # type: ignore[call-overload]

        found = query(
            services.postgresql.url(), f"SELECT count(*) FROM pg_extension WHERE extname = '{extension}'"
        )
        assert found == 1

    def test_the_application_s_role_is_no_superuser(self, services: Services) -> None:
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            query(services.postgresql.url(), "SELECT pg_read_file('/etc/passwd')")

    def test_it_listens_on_no_network_address(self, services: Services) -> None:
        assert query(services.postgresql.url(), "SHOW listen_addresses") == ""
        assert services.postgresql.sockets.stat().st_mode & 0o077 == 0

    def test_a_second_server_on_the_same_data_is_refused(self, services: Services) -> None:
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr("psutil.Process.wait", _never_ends)
            with pytest.raises(CannotStart, match=r"PostgreSQL process \d+ still uses"):
                services.postgresql.prepare()

    def test_it_comes_back_after_it_was_killed_and_keeps_what_was_committed(
        self, services: Services, supervisor: Supervisor
    ) -> None:
        with psycopg.connect(services.postgresql.url(), autocommit=True) as connection:
            connection.execute("CREATE TABLE kept AS SELECT 42 AS answer")
        supervised = next(each for each in supervisor.supervised if each.child.program.name == "PostgreSQL")
        supervised.backoff = Backoff(first_s=0.2, longest_s=0.5)
        assert supervised.child.process is not None
        os.kill(supervised.child.process.pid, signal.SIGKILL)
        supervised.child.process.wait()

        deadline = time.monotonic() + 15
        while time.monotonic() < deadline:
            supervised.look_after(time.monotonic())
            if supervised.child.is_alive and services.postgresql.is_ready():
                break
            time.sleep(0.05)

        assert query(services.postgresql.url(), "SELECT answer FROM kept") == 42


def _never_ends(process: psutil.Process, timeout: float) -> None:
    raise psutil.TimeoutExpired(timeout, process.pid)


class TestAfterACrash:
    @pytest.fixture
    def crashed(self, tmp_path: Path) -> Services:
        """The data of a shop that was stopped, with what a crash leaves: a process number and sockets."""
        services = Services(DataFolder(tmp_path), throwaway=True, outside_redis_url="redis://elsewhere")
        services.postgresql.prepare()
        # The number belongs to another program now: this one.
        process_file = services.postgresql.data / "postmaster.pid"
        lines = [
            str(os.getpid()),
            str(services.postgresql.data),
            "0",
            "5432",
            str(services.postgresql.sockets),
        ]
        process_file.write_text("\n".join([*lines, "", "", "ready", ""]))
        socket_lock = services.postgresql.sockets / ".s.PGSQL.5432.lock"
        socket_lock.write_text(process_file.read_text())
        for left in (process_file, socket_lock):
            account = services.postgresql.account
            if account.uid is not None and account.gid is not None:
                os.chown(left, account.uid, account.gid)
        return services

    def test_a_number_that_another_program_carries_now_is_no_obstacle(self, crashed: Services) -> None:
        supervisor = Supervisor()
        try:
            crashed.start(supervisor)

            assert query(crashed.postgresql.url(), "SELECT 1") == 1
        finally:
            supervisor.stop()

    def test_data_of_another_major_version_is_refused(self, crashed: Services) -> None:
        (crashed.postgresql.data / "PG_VERSION").write_text("17\n")

        with pytest.raises(CannotStart, match="was written by PostgreSQL 17; this is 18"):
            crashed.postgresql.prepare()


class TestValkey:
    def test_it_answers_on_its_socket_alone(self, services: Services, supervisor: Supervisor) -> None:
        process = child_named(supervisor, "Valkey").process
        assert process is not None

        assert services.valkey.is_ready()
        assert services.valkey.socket.stat().st_mode & 0o077 == 0
        assert [each for each in psutil.Process(process.pid).net_connections("inet") if each.laddr] == []

    def test_what_was_queued_survives_a_killed_server(
        self, services: Services, supervisor: Supervisor
    ) -> None:
        import redis

        with redis.Redis.from_url(services.valkey.url()) as connection:
            connection.lpush("queue", "report")
        time.sleep(1.2)
        child = child_named(supervisor, "Valkey")
        assert child.process is not None
        os.kill(child.process.pid, signal.SIGKILL)
        child.process.wait()
        child.start()
        supervisor.wait_until(services.valkey.is_ready, child, 10)

        with redis.Redis.from_url(services.valkey.url()) as connection:
            assert connection.lrange("queue", 0, -1) == [b"report"]


class TestThrowaway:
    def test_outside_servers_are_never_used(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("DATABASE_URL", "postgresql://shop.example/real")
        monkeypatch.setattr(Services, "start", lambda services, supervisor: services.addresses())

        with throwaway_services(Supervisor()) as (folder, addresses):
            assert "shop.example" not in addresses.database_url
            assert addresses.redis_url == f"unix://{folder.path}/run/valkey.sock"

    def test_nothing_is_left(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(Services, "start", lambda services, supervisor: services.addresses())

        with throwaway_services(Supervisor()) as (folder, _):
            assert folder.path.exists()

        assert not folder.path.exists()


def test_a_management_command_starts_the_servers_it_needs_and_stops_them_again(tmp_path: Path) -> None:
    environment = {
        key: value for key, value in os.environ.items() if key not in ("DATABASE_URL", "REDIS_URL")
    }
    environment |= {"SHOPCOOL_DATA": str(tmp_path)}
    command = [sys.executable, "-m", "shopcool.standalone", "manage", "shell", "--no-imports", "-c"]
    asked = (
        "from django.db import connection; cursor = connection.cursor(); "
        "cursor.execute('SELECT 6 * 7'); print(*cursor.fetchone())"
    )

    answer = subprocess.run([*command, asked], env=environment, capture_output=True, text=True, check=False)

    assert answer.stdout.split()[-1] == "42", answer.stdout + answer.stderr
    assert not DataFolder(tmp_path).is_in_use()
    assert not list((tmp_path / "run").glob(".s.PGSQL*"))
