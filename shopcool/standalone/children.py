"""Child processes: started in a group of their own, logged, and stopped without leaving one behind."""

from __future__ import annotations

import ctypes
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from shopcool.standalone.terminal import log_tail

LARGEST_LOG_BYTES = 5_000_000
PR_SET_PDEATHSIG = 1


@dataclass(frozen=True)
class Program:
    """What to run and how to end it."""

    name: str
    command: tuple[str, ...]
    log: Path
    environment: Mapping[str, str] = field(default_factory=lambda: dict(os.environ))
    stop_signal: signal.Signals = signal.SIGTERM
    # What a second request sends: at once, but for a database still in order.
    hard_signal: signal.Signals = signal.SIGKILL
    grace_s: float = 10.0
    pass_fds: tuple[int, ...] = ()


class Child:
    """One run of a program after another, with at most one alive."""

    def __init__(self, program: Program) -> None:
        self.program = program
        self.process: subprocess.Popen[bytes] | None = None
        self.started_at = 0.0

    def start(self) -> None:
        """Start the program in a process group of its own, so that a Ctrl-C reaches only the supervisor."""
        _rotate(self.program.log)
        with self.program.log.open("ab") as log:
            log.write(f"--- {self.program.name} starts at {time.strftime('%Y-%m-%d %H:%M:%S')}\n".encode())
            log.flush()
            self.process = subprocess.Popen(
                self.program.command,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                env=dict(self.program.environment),
                process_group=0,
                pass_fds=self.program.pass_fds,
                preexec_fn=_end_with_parent(self.program.stop_signal),
            )
        self.started_at = time.monotonic()

    @property
    def exit_status(self) -> int | None:
        """Return the exit status of the last run, None while it is alive or before the first start."""
        return None if self.process is None else self.process.poll()

    @property
    def is_alive(self) -> bool:
        """Say whether the program runs now."""
        return self.process is not None and self.process.poll() is None

    def send(self, number: signal.Signals) -> None:
        """Send a signal to the program; a hard one to its whole group, where nobody hands it on."""
        if self.process is None:
            return
        try:
            if number is signal.SIGKILL:
                os.killpg(self.process.pid, number)
            elif self.is_alive:
                self.process.send_signal(number)
        except ProcessLookupError:
            return

    def describe_end(self) -> str:
        """Return how the last run ended, in words."""
        status = self.exit_status
        if status is None:
            return "is running"
        if status < 0:
            return f"was ended by {signal.Signals(-status).name}"
        return f"ended with exit status {status}"

    def last_lines(self) -> str:
        """Return the end of the program's log."""
        return log_tail(self.program.log)


def _rotate(log: Path) -> None:
    """Keep one older log, so that a long-running shop never fills its disk."""
    log.parent.mkdir(parents=True, exist_ok=True)
    if log.exists() and log.stat().st_size > LARGEST_LOG_BYTES:
        log.replace(log.with_suffix(".old.log"))


def end_with_parent(number: signal.Signals) -> None:
    """Ask the kernel to send this process a signal when its parent dies in any way (Linux only)."""
    if sys.platform == "linux":
        ctypes.CDLL(None, use_errno=True).prctl(PR_SET_PDEATHSIG, int(number))


def _end_with_parent(number: signal.Signals) -> Callable[[], None]:
    return lambda: end_with_parent(number)
