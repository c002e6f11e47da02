"""The commands behind the Makefile: ``python -m shopcool.standalone run``."""

from __future__ import annotations

import subprocess
import sys
from importlib import import_module
from pathlib import Path

from shopcool.standalone.errors import CannotStart, StopRequested
from shopcool.standalone.terminal import say

INTERRUPTED = 130
# Module and function. Only the one asked for is imported: a shop's start must not wait for other tools.
COMMANDS = {
    "run": ("run", "run"),
    "manage": ("maintenance", "manage"),
    "backup": ("maintenance", "backup"),
    "restore": ("maintenance", "restore"),
    "test": ("suite", "test"),
    "bench": ("suite", "bench"),
    "check": ("checks", "check"),
    "format": ("checks", "format_code"),
    "lock": ("locks", "lock"),
}


def main(arguments: list[str]) -> int:
    """Run the command that the first argument names, ``run`` without one, and return its exit status."""
    name, rest = (arguments[0], arguments[1:]) if arguments else ("run", [])
    try:
        return command_named(name, rest)
    except CannotStart as refusal:
        say(str(refusal))
        return 1
    except subprocess.CalledProcessError as failure:
        say(f"{Path(failure.cmd[0]).name} ended with exit status {failure.returncode}.")
        return 1
    except (StopRequested, KeyboardInterrupt):
        return INTERRUPTED


def command_named(name: str, arguments: list[str]) -> int:
    """Run a command with its arguments and return its exit status.

    Raises:
        CannotStart: there is no such command, or it can't do its work.
    """
    if name not in COMMANDS:
        raise CannotStart(f"There is no command {name!r}. These are: {', '.join(COMMANDS)}.")
    module, function = COMMANDS[name]
    return int(getattr(import_module(f"shopcool.standalone.{module}"), function)(arguments))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
