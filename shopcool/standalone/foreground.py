"""A command that belongs to the person at the terminal, while the servers it needs run behind it."""

from __future__ import annotations

import signal
import subprocess
from collections.abc import Mapping, Sequence

from shopcool.standalone.children import end_with_parent


def run_in_foreground(command: Sequence[str], environment: Mapping[str, str]) -> int:
    """Run a command on this terminal and return its exit status.

    A Ctrl-C reaches it from the terminal; TERM is handed on as the same request, so that it tidies up.
    """
    with subprocess.Popen(
        list(command), env=dict(environment), preexec_fn=lambda: end_with_parent(signal.SIGINT)
    ) as process:

        def hand_on(number: int, frame: object) -> None:
            process.send_signal(signal.SIGINT)

        before = {
            signal.SIGINT: signal.signal(signal.SIGINT, lambda number, frame: None),
            signal.SIGTERM: signal.signal(signal.SIGTERM, hand_on),
        }
        try:
            return process.wait()
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)
