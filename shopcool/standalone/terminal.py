"""Lines for the person at the terminal."""

from __future__ import annotations

from pathlib import Path

TAIL_LINES = 15


def say(line: str) -> None:
    """Show one line at once, also when the output goes into a file; ignore a closed terminal."""
    try:
        print(line, flush=True)
    except OSError:
        # The terminal is gone; the children must still be stopped in order.
        return


def log_tail(log: Path) -> str:
    """Return the last lines of a log, indented, with its place."""
    try:
        lines = log.read_text(errors="replace").splitlines()[-TAIL_LINES:]
    except OSError:
        lines = []
    shown = "\n".join(f"    {line}" for line in lines) or "    (nothing was written)"
    return f"{shown}\n  All of it: {log}"
