"""What the program that started this one, usually make, wants of it."""

from __future__ import annotations

import os
import re
import signal
from pathlib import Path

from shopcool.standalone.children import end_with_parent

BLOCKED_SIGNALS = re.compile(r"^SigBlk:\s*([0-9a-f]+)$", re.MULTILINE)
INTERRUPT_BIT = 1 << (signal.SIGINT - 1)
LOOKS_IN_A_ROW = 3


class Parent:
    """The process that started this one, followed only when it asks for that by SHOPCOOL_STOP_WITH_PARENT."""

    def __init__(self) -> None:
        self.process = os.getppid()
        self.is_followed = bool(os.environ.get("SHOPCOOL_STOP_WITH_PARENT"))
        self._looks = 0

    def follow(self) -> None:
        """End when the parent is killed."""
        if self.is_followed:
            end_with_parent(signal.SIGTERM)

    def was_interrupted(self) -> bool:
        """Say whether the parent got an interrupt that was sent to it alone.

        Make hands TERM on but takes an interrupt for a Ctrl-C, which reaches everybody by itself. It then
        waits for its children inside its signal handler, with that signal blocked, and would wait for ever.
        It blocks the signal for an instant at other times too, so several looks in a row must agree.
        """
        if not self.is_followed:
            return False
        self._looks = self._looks + 1 if self._blocks_interrupts() else 0
        return self._looks >= LOOKS_IN_A_ROW

    def _blocks_interrupts(self) -> bool:
        try:
            status = Path(f"/proc/{self.process}/status").read_text()
        except OSError:
            return False
        blocked = BLOCKED_SIGNALS.search(status)
        return blocked is not None and bool(int(blocked.group(1), 16) & INTERRUPT_BIT)
