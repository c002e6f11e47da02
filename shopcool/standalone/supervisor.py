"""Keeps children alive until a person or the system asks for the end, then stops them in order."""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

from shopcool.standalone.children import Child, Program
from shopcool.standalone.errors import CannotStart, StopRequested
from shopcool.standalone.terminal import say

POLL_S = 0.1
KILL_AFTER_HARD_SIGNAL_S = 3.0
# One request may arrive twice: as a signal to the process and to its group.
SAME_REQUEST_S = 1.0


@dataclass
class Backoff:
    """How long to wait before the next restart: doubling, and forgotten after a calm run."""

    first_s: float = 0.5
    longest_s: float = 30.0
    calm_s: float = 60.0
    failures: int = 0

    def delay_after(self, ran_for_s: float) -> float:
        """Count an end after so many seconds [s] and return the wait before the next start [s]."""
        self.failures = 1 if ran_for_s >= self.calm_s else self.failures + 1
        return float(min(self.longest_s, self.first_s * 2 ** min(self.failures - 1, 16)))


class Supervised:
    """A child with its restart plan."""

    def __init__(self, program: Program, backoff: Backoff) -> None:
        self.child = Child(program)
        self.backoff = backoff
        self.restart_at: float | None = None

    def look_after(self, now: float) -> None:
        """Notice an end and say it; start again when the wait is over."""
        name, child = self.child.program.name, self.child
        if self.restart_at is not None:
            if now >= self.restart_at:
                self.restart_at = None
                child.start()
                say(f"{name} was started again.")
        elif not child.is_alive:
            delay = self.backoff.delay_after(now - child.started_at)
            # What it started itself must not live beside the next run.
            child.send(signal.SIGKILL)
            self.restart_at = now + delay
            say(f"{name} {child.describe_end()}. Starting it again in {delay:g} s. Log: {child.program.log}")


class Supervisor:
    """The children of this run, in the order in which they were started."""

    def __init__(self, is_over: Callable[[], bool] = lambda: False) -> None:
        self.supervised: list[Supervised] = []
        # Asked beside the signals, at every look.
        self._is_over = is_over
        self._wake = threading.Event()
        self._requests = 0
        self._requested_at = 0.0

    def listen(self) -> None:
        """Take Ctrl-C, TERM and a closed terminal as the request to stop."""
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            # A start under nohup ignores the closed terminal on purpose.
            if signal.getsignal(number) is not signal.SIG_IGN:
                signal.signal(number, self._on_signal)

    def _on_signal(self, number: int, frame: object) -> None:
        self.request_stop()

    def request_stop(self) -> None:
        """Ask for the end; asking again, a second later or more, ends the children hard."""
        now = time.monotonic()
        if not self._requests or now - self._requested_at > SAME_REQUEST_S:
            self._requests += 1
        self._requested_at = now
        self._wake.set()

    @property
    def stop_requested(self) -> bool:
        """Say whether the end was asked for."""
        return self._requests > 0

    def pause(self, seconds: float) -> None:
        """Wait a moment [s], cut short by a request to stop.

        Raises:
            StopRequested: the end was asked for.
        """
        if self._is_asked_to_stop_within(seconds):
            raise StopRequested

    def _is_asked_to_stop_within(self, seconds: float) -> bool:
        if not self._requests and self._is_over():
            self.request_stop()
        return self._wake.wait(seconds)

    def start(self, program: Program, backoff: Backoff | None = None) -> Child:
        """Start a program and keep it alive from now on."""
        supervised = Supervised(program, backoff or Backoff())
        self.supervised.append(supervised)
        supervised.child.start()
        return supervised.child

    def run_once(self, program: Program) -> None:
        """Run a program to its end.

        Raises:
            CannotStart: it failed.
            StopRequested: the end was asked for first; the program is stopped.
        """
        child = Child(program)
        child.start()
        try:
            while child.is_alive:
                self.pause(POLL_S)
        finally:
            self._stop([child])
        if child.exit_status != 0:
            raise CannotStart(f"{program.name} {child.describe_end()}:\n{child.last_lines()}")

    def wait_until(self, ready: Callable[[], bool], child: Child, timeout_s: float) -> None:
        """Wait until a started child does its work.

        Raises:
            CannotStart: it ended, or the time [s] is over.
            StopRequested: the end was asked for.
        """
        deadline = time.monotonic() + timeout_s
        while not ready():
            if not child.is_alive:
                raise CannotStart(f"{child.program.name} {child.describe_end()}:\n{child.last_lines()}")
            if time.monotonic() > deadline:
                raise CannotStart(
                    f"{child.program.name} was not ready after {timeout_s:g} s:\n{child.last_lines()}"
                )
            self.pause(POLL_S)

    def watch(self) -> None:
        """Restart whatever dies until the end is asked for."""
        while not self._is_asked_to_stop_within(POLL_S):
            now = time.monotonic()
            for supervised in self.supervised:
                supervised.look_after(now)

    def stop(self, *stages: list[Child]) -> None:
        """Stop the children stage by stage, each stage together; whatever is in no stage comes last."""
        named = [child for stage in stages for child in stage]
        rest = [supervised.child for supervised in self.supervised if supervised.child not in named]
        for stage in (*stages, rest):
            self._stop(stage)
        self.supervised.clear()

    def _stop(self, children: list[Child]) -> None:
        """Ask these children to end; insist when their time is over or the request was repeated."""
        for child in children:
            child.send(child.program.stop_signal)
        started = time.monotonic()
        insisted_at: dict[Child, float] = {}
        while alive := [child for child in children if child.is_alive]:
            now = time.monotonic()
            for child in alive:
                if child not in insisted_at and (self._requests > 1 or now - started > child.program.grace_s):
                    insisted_at[child] = now
                    child.send(child.program.hard_signal)
                elif now - insisted_at.get(child, now) > KILL_AFTER_HARD_SIGNAL_S:
                    child.send(signal.SIGKILL)
            time.sleep(POLL_S / 2)
        for child in children:
            # What the program started itself and left behind goes with its group.
            child.send(signal.SIGKILL)
