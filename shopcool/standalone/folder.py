"""The data folder of one shop: who uses it, its secret key, and where its sockets lie."""

from __future__ import annotations

import contextlib
import fcntl
import hashlib
import json
import os
import re
import secrets
import stat
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from shopcool.standalone.account import Account
from shopcool.standalone.errors import CannotStart

ROOT = Path(__file__).resolve().parents[2]
# sockaddr_un holds 108 bytes with its closing zero on Linux, 104 elsewhere.
LONGEST_SOCKET_PATH = 103
LONGEST_SOCKET_NAME = ".s.PGSQL.5432.lock"
PLAIN_PATH = re.compile(r"[A-Za-z0-9/._-]+")


@dataclass(frozen=True)
class DataFolder:
    """The places below a data folder."""

    path: Path

    @property
    def logs(self) -> Path:
        """Return the folder of the logs."""
        return self.path / "logs"

    @property
    def postgresql(self) -> Path:
        """Return the data folder of the database server."""
        return self.path / "postgresql"

    @property
    def valkey(self) -> Path:
        """Return the data folder of the broker."""
        return self.path / "valkey"

    @property
    def files(self) -> Path:
        """Return the folder of reports and of what people attached."""
        return self.path / "files"

    @property
    def backups(self) -> Path:
        """Return the folder of the backups."""
        return self.path / "backups"

    @property
    def state(self) -> Path:
        """Return the file that the running instance holds locked; it says who and where."""
        return self.path / "running.json"

    def sockets(self, account: Account) -> Path:
        """Return the folder of the sockets: inside, or in the temporary folder when the path would not do.

        A socket's path is limited in length, and addresses made of it must not need quoting.

        Raises:
            CannotStart: somebody else put a folder at that place.
        """
        inside = self.path / "run"
        fits = len(str(inside / LONGEST_SOCKET_NAME)) <= LONGEST_SOCKET_PATH
        if fits and PLAIN_PATH.fullmatch(str(inside)):
            return inside
        mark = hashlib.sha256(str(self.path).encode()).hexdigest()[:12]
        outside = Path(tempfile.gettempdir()) / f"shopcool-{os.geteuid()}-{mark}"
        refuse_foreign_folder(outside, {os.geteuid(), account.uid})
        return outside

    def secret_key(self) -> str:
        """Return the key that signs sessions, made once and readable by its owner alone."""
        place = self.path / "secret-key"
        with contextlib.suppress(FileExistsError):
            made = os.open(place, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(made, "w") as file:
                file.write(secrets.token_urlsafe(64))
        key = place.read_text().strip()
        if len(key) < 50:
            raise CannotStart(f"The key in {place} is too short. Remove the file to have a new one made.")
        return key

    @contextlib.contextmanager
    def claim(self) -> Iterator[RunningState]:
        """Hold the folder for this process until the block ends; what is made in it meanwhile is private.

        Raises:
            CannotStart: another process holds it, or it can't be written.
        """
        try:
            # Others may pass, since the database may run under another account, but not look around.
            self.path.mkdir(parents=True, exist_ok=True, mode=0o711)
            handle = os.open(self.state, os.O_RDWR | os.O_CREAT, 0o600)
        except OSError as error:
            raise CannotStart(f"The data folder {self.path} can't be written: {error.strerror}.") from error
        with os.fdopen(handle, "r+") as file:
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError as error:
                holder = already_running(file.read())
                raise CannotStart(f"{holder} It uses the data folder {self.path}.") from error
            state = RunningState(file)
            state.write()
            usual = os.umask(0o077)
            try:
                yield state
            finally:
                os.umask(usual)
                file.truncate(0)

    def is_in_use(self) -> bool:
        """Say whether an instance holds this folder now."""
        try:
            with self.state.open("r+") as file:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except FileNotFoundError:
            return False
        except BlockingIOError:
            return True
        return False


class RunningState:
    """What the running instance tells others about itself."""

    def __init__(self, file: IO[str]) -> None:
        self._file = file

    def write(self, address: str = "") -> None:
        """Record this process and the address it answers at."""
        self._file.seek(0)
        self._file.truncate()
        self._file.write(json.dumps({"process": os.getpid(), "address": address}))
        self._file.flush()


def already_running(text: str) -> str:
    """Return the sentence that names the running instance, from what it recorded."""
    try:
        state = json.loads(text)
        process, address = state["process"], state["address"]
    except (ValueError, KeyError, TypeError):
        return "Shopcool already runs."
    at = f" at {address}" if address else ", still starting"
    return f"Shopcool already runs as process {process}{at}."


def refuse_foreign_folder(folder: Path, owners: set[int | None]) -> None:
    """Refuse a folder in a shared place that somebody else put there.

    Raises:
        CannotStart: it is no folder, belongs to none of the owners, or others may enter it.
    """
    try:
        status = folder.lstat()
    except FileNotFoundError:
        return
    if not stat.S_ISDIR(status.st_mode) or status.st_mode & 0o077 or status.st_uid not in owners:
        raise CannotStart(f"{folder} is not a private folder of this account. Look at it and remove it.")


def data_folder() -> DataFolder:
    """Return the folder that SHOPCOOL_DATA names, ``.data`` beside the code otherwise."""
    named = os.environ.get("SHOPCOOL_DATA", "").strip()
    return DataFolder(Path(named).expanduser().resolve() if named else ROOT / ".data")
