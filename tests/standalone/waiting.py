"""Waiting for what happens in another process."""

from __future__ import annotations

import time
from collections.abc import Callable


def eventually(condition: Callable[[], object], timeout_s: float = 10.0) -> bool:
    """Say whether a condition comes true in time [s]."""
    deadline = time.monotonic() + timeout_s
    while time.monotonic() < deadline:
        if condition():
            return True
        time.sleep(0.02)
    return False
