"""The database and the broker of one data folder, or the outside servers that the environment names."""

from __future__ import annotations

import os
import shutil
import signal
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from shopcool.standalone.account import account_for
from shopcool.standalone.children import Child, Program
from shopcool.standalone.folder import DataFolder
from shopcool.standalone.postgresql import PostgresqlServer
from shopcool.standalone.supervisor import Supervisor
from shopcool.standalone.terminal import say
from shopcool.standalone.valkey import ValkeyServer

START_TIMEOUT_S = 120.0


@dataclass(frozen=True)
class Addresses:
    """Where the application finds its database and its broker."""

    database_url: str
    redis_url: str

    def environment(self) -> dict[str, str]:
        """Return the variables that tell the application."""
        return {"DATABASE_URL": self.database_url, "REDIS_URL": self.redis_url}


@dataclass(frozen=True)
class Services:
    """The two servers of a data folder; an address from outside stands in for either."""

    folder: DataFolder
    throwaway: bool = False
    outside_database_url: str = ""
    outside_redis_url: str = ""

    @property
    def postgresql(self) -> PostgresqlServer:
        """Return the folder's database server."""
        account = account_for(self.folder.postgresql)
        sockets = self.folder.sockets(account)
        return PostgresqlServer(self.folder.postgresql, sockets, account, self.throwaway)

    @property
    def valkey(self) -> ValkeyServer:
        """Return the folder's broker."""
        sockets = self.folder.sockets(account_for(self.folder.postgresql))
        return ValkeyServer(self.folder.valkey, sockets, self.throwaway)

    def addresses(self) -> Addresses:
        """Return where the two are found once they run."""
        return Addresses(
            self.outside_database_url or self.postgresql.url(), self.outside_redis_url or self.valkey.url()
        )

    def start(self, supervisor: Supervisor) -> Addresses:
        """Start what is not outside and wait until both answer.

        Raises:
            CannotStart: one of them can't start.
            StopRequested: the end was asked for.
        """
        database = None if self.outside_database_url else self._start_database(supervisor)
        broker = None if self.outside_redis_url else self._start_broker(supervisor)
        if database:
            supervisor.wait_until(self.postgresql.is_ready, database, START_TIMEOUT_S)
            self.postgresql.create_database()
        if broker:
            supervisor.wait_until(self.valkey.is_ready, broker, START_TIMEOUT_S)
        return self.addresses()

    def _start_database(self, supervisor: Supervisor) -> Child:
        server = self.postgresql
        if not self.throwaway:
            is_new = not server.data.exists()
            say("Making a new PostgreSQL database" if is_new else "Starting PostgreSQL")
        server.prepare()
        return supervisor.start(
            Program(
                name="PostgreSQL",
                command=server.command(),
                log=self.folder.logs / "postgresql.log",
                # Interrupt is the fast shutdown: no new transaction, all data on the disk.
                stop_signal=signal.SIGINT,
                hard_signal=signal.SIGQUIT,
                grace_s=30.0,
            )
        )

    def _start_broker(self, supervisor: Supervisor) -> Child:
        server = self.valkey
        if not self.throwaway:
            say("Starting Valkey")
        server.prepare()
        if self.outside_database_url:
            server.sockets.mkdir(parents=True, exist_ok=True, mode=0o700)
        return supervisor.start(
            Program(name="Valkey", command=server.command(), log=self.folder.logs / "valkey.log")
        )


def services_of(folder: DataFolder) -> Services:
    """Return the servers of a shop's data folder, with those from outside that the environment names."""
    return Services(
        folder,
        outside_database_url=os.environ.get("DATABASE_URL", "").strip(),
        outside_redis_url=os.environ.get("REDIS_URL", "").strip(),
    )


@contextmanager
def throwaway_services(supervisor: Supervisor) -> Iterator[tuple[DataFolder, Addresses]]:
    """Run both servers in a temporary folder for the length of the block; never touch outside ones."""
    place = Path(tempfile.mkdtemp(prefix="shopcool-"))
    try:
        folder = DataFolder(place)
        addresses = Services(folder, throwaway=True).start(supervisor)
        yield folder, addresses
    finally:
        supervisor.stop()
        shutil.rmtree(place, ignore_errors=True)
