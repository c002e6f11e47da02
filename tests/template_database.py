"""The migrated database of a parallel run: made once, then copied by every process of the suite.

The migrations run beside the collection of the tests, in a process that holds a lock until it ends.
"""

from __future__ import annotations

import fcntl
import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

import psycopg
from psycopg import sql
from psycopg.conninfo import make_conninfo

ROOT = Path(__file__).resolve().parent.parent


def _address(database: str) -> str:
    return make_conninfo(os.environ.get("DATABASE_URL", "postgresql:///shopcool"), dbname=database)


def _on_the_server(statement: str, database: str) -> None:
    with psycopg.connect(_address("postgres"), autocommit=True) as connection:
        connection.execute(sql.SQL(statement).format(sql.Identifier(database)))


@dataclass
class TemplateDatabase:
    """A database that is being migrated, and the file that stays locked for as long."""

    name: str = field(default_factory=lambda: f"shopcool_template_{os.getpid()}")
    lock: Path = field(default_factory=lambda: Path(tempfile.gettempdir(), f"shopcool-{os.getpid()}.lock"))
    migrating: subprocess.Popen[bytes] | None = None

    def begin(self) -> bool:
        """Create the database and begin to migrate it; say whether there is a server for that."""
        try:
            # One of that name is left over from a run that was killed.
            _on_the_server("DROP DATABASE IF EXISTS {}", self.name)
            _on_the_server("CREATE DATABASE {}", self.name)
        except psycopg.OperationalError:
            # Tests that need no database run without one.
            return False
        own = {"DATABASE_URL": _address(self.name), "SHOPCOOL_SECRET_KEY": "only-for-tests" * 4}
        with self.lock.open("w") as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            # The lock goes with the open file: here it is closed at once, there when the process ends.
            self.migrating = subprocess.Popen(
                [sys.executable, "manage.py", "migrate", "--verbosity=0"],
                cwd=ROOT,
                env=os.environ | own,
                pass_fds=[file.fileno()],
            )
        return True

    def end(self) -> None:
        """Remove the database."""
        if self.migrating is not None:
            self.migrating.wait()
        _on_the_server("DROP DATABASE {}", self.name)
        self.lock.unlink(missing_ok=True)


def wait_for_template(lock: str) -> None:
    """Return once nobody holds the lock of the file any more."""
    with open(lock) as file:
        fcntl.flock(file, fcntl.LOCK_SH)
