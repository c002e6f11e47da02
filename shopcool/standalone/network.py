"""The address the shop answers at."""

from __future__ import annotations

import errno
import os
import socket
import urllib.error
import urllib.request

import psutil

from shopcool.standalone.errors import CannotStart

USUAL_PORT = 8000
PORTS_TRIED = 100
LOOPBACK = ("127.0.0.1", "localhost", "::1")
EVERYWHERE = ("0.0.0.0", "::")


def open_socket() -> socket.socket:
    """Return a listening socket at SHOPCOOL_BIND and SHOPCOOL_PORT, or the first free port from 8000 on.

    Raises:
        CannotStart: the port is taken, or the address is none of this machine's.
    """
    host = os.environ.get("SHOPCOOL_BIND", "").strip() or "127.0.0.1"
    asked = os.environ.get("SHOPCOOL_PORT", "").strip()
    if asked:
        return _listen(host, _port_number(asked))
    for port in range(USUAL_PORT, USUAL_PORT + PORTS_TRIED):
        try:
            return _listen(host, port)
        except PortTaken:
            continue
    raise CannotStart(
        f"No port from {USUAL_PORT} to {USUAL_PORT + PORTS_TRIED - 1} is free. Set SHOPCOOL_PORT."
    )


class PortTaken(CannotStart):
    """Another program listens there."""


def _port_number(text: str) -> int:
    if not text.isdigit() or not 1 <= int(text) <= 65535:
        raise CannotStart(f"SHOPCOOL_PORT must be a number from 1 to 65535, not {text!r}.")
    return int(text)


def _listen(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        return socket.create_server((host, port), family=family, backlog=256)
    except PermissionError as error:
        raise CannotStart(
            f"Port {port} needs more rights than this account has. Set SHOPCOOL_PORT."
        ) from error
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            raise PortTaken(f"Port {port} is taken by another program. Set SHOPCOOL_PORT.") from error
        raise CannotStart(
            f"Shopcool can't answer at {host}: {error.strerror}. Look at SHOPCOOL_BIND."
        ) from error


def address(listening: socket.socket) -> str:
    """Return the address a browser on this machine opens."""
    host, port = listening.getsockname()[:2]
    name = "localhost" if host in LOOPBACK or host in EVERYWHERE else host
    return f"http://{f'[{name}]' if ':' in name else name}:{port}/"


def allowed_hosts(listening: socket.socket) -> str:
    """Return the names under which browsers may ask, comma-separated.

    On loopback these are this machine's own; elsewhere also its name and its addresses, so that a tablet
    in the workshop finds it.
    """
    names = ["localhost", "127.0.0.1", "[::1]"]
    host = listening.getsockname()[0]
    if host not in LOOPBACK:
        names += [socket.gethostname(), f"{socket.gethostname()}.local", *machine_addresses()]
    return ",".join(dict.fromkeys(names))


def machine_addresses() -> list[str]:
    """Return the IPv4 addresses of this machine."""
    found = [entry for entries in psutil.net_if_addrs().values() for entry in entries]
    return sorted({entry.address for entry in found if entry.family == socket.AF_INET})


def answers(url: str) -> bool:
    """Say whether the address answers with success."""
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    try:
        with opener.open(url, timeout=5) as response:
            return bool(response.status == 200)
    except (urllib.error.URLError, OSError):
        return False
