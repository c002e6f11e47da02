"""A whole shop as a process of its own, as ``make run`` starts it."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import urllib.request
from pathlib import Path

import psutil

from tests.standalone.waiting import eventually

OWN_VARIABLES = ("DATABASE_URL", "REDIS_URL")
# Seconds on an idle machine; minutes where everything else runs as well.
READY_TIMEOUT_S = 240.0


class ShopProcess:
    """``python -m shopcool.standalone run`` on a data folder, without the demo."""

    def __init__(self, data: Path) -> None:
        self.data = data
        self.output = data.parent / f"{data.name}.out"

    def command(self, *arguments: str) -> tuple[list[str], dict[str, str]]:
        """Return a command of the shop and its environment."""
        environment = {key: value for key, value in os.environ.items() if key not in OWN_VARIABLES}
        # With debug, static files need no collecting, which has a test of its own.
        environment |= {"SHOPCOOL_DATA": str(self.data), "SHOPCOOL_DEMO": "no", "SHOPCOOL_DEBUG": "yes"}
        # Each process that serves loads the property library, which nothing here asks for.
        environment |= {"SHOPCOOL_WEB_WORKERS": "1"}
        return [sys.executable, "-m", "shopcool.standalone", *arguments], environment

    def start(self) -> subprocess.Popen[bytes]:
        """Start the shop and return its process as soon as it is ready."""
        command, environment = self.command("run")
        with self.output.open("wb") as output:
            process = subprocess.Popen(command, env=environment, stdout=output, stderr=subprocess.STDOUT)
        eventually(lambda: self.address or process.poll() is not None, READY_TIMEOUT_S)
        if not self.address:
            process.terminate()
            process.wait(timeout=60)
            raise AssertionError(f"The shop did not get ready:\n{self.said}")
        return process

    def run(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        """Run a command on the same data folder to its end."""
        command, environment = self.command(*arguments)
        return subprocess.run(command, env=environment, capture_output=True, text=True, check=False)

    @property
    def said(self) -> str:
        """Return everything that was shown so far."""
        return self.output.read_text()

    @property
    def address(self) -> str:
        """Return the address that was shown, empty before that."""
        shown = re.search(r"is ready after .* s: (\S+)", self.said)
        return shown.group(1) if shown else ""

    def health(self) -> int:
        """Return the status of the health answer."""
        with urllib.request.urlopen(f"{self.address}health/", timeout=READY_TIMEOUT_S) as response:
            return int(response.status)


def descendants(process: subprocess.Popen[bytes]) -> list[psutil.Process]:
    """Return every process below this one."""
    return psutil.Process(process.pid).children(recursive=True)


def survivors(processes: list[psutil.Process], timeout_s: float = 30.0) -> list[psutil.Process]:
    """Wait for the end of processes and return those that are still alive after the time [s]."""
    eventually(lambda: all(map(_is_gone, processes)), timeout_s)
    return [process for process in processes if not _is_gone(process)]


def _is_gone(process: psutil.Process) -> bool:
    """Say whether a process has ended (one that nobody has collected yet counts as ended)."""
    try:
        return not process.is_running() or process.status() == psutil.STATUS_ZOMBIE
    except psutil.NoSuchProcess:
        return True
