"""``make check``: everything that can be said about the code without running its tests."""

from __future__ import annotations

import os
import secrets
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from shopcool.standalone.children import Program
from shopcool.standalone.errors import CannotStart
from shopcool.standalone.folder import ROOT, DataFolder
from shopcool.standalone.services import throwaway_services
from shopcool.standalone.supervisor import Supervisor
from shopcool.standalone.terminal import say


@dataclass(frozen=True)
class Check:
    """A question with the command that answers it."""

    question: str
    command: tuple[str, ...]


def tool(name: str) -> str:
    """Return the path of a development tool of this environment."""
    return str(Path(sys.executable).parent / name)


MANAGE = (sys.executable, "manage.py")
CHECKS = (
    Check("Python style", (tool("ruff"), "check", "--quiet", ".")),
    Check("Python layout", (tool("ruff"), "format", "--check", "--quiet", ".")),
    Check("Layers of imports", (tool("lint-imports"),)),
    Check("Templates", (tool("djlint"), "templates", "--lint", "--quiet")),
    Check("Types", (tool("mypy"), ".")),
    Check("Migrations match the models", (*MANAGE, "makemigrations", "--check", "--dry-run")),
    Check("Deployment settings", (*MANAGE, "check", "--deploy", "--fail-level", "WARNING")),
)


def check(arguments: list[str]) -> int:
    """Ask every question, say each answer, and return 1 when one of them failed."""
    supervisor = Supervisor()
    supervisor.listen()
    with throwaway_services(supervisor) as (folder, addresses):
        environment = {
            **deployment_environment(),
            **addresses.environment(),
            "SHOPCOOL_DATA": str(folder.path),
        }
        failed = [each.question for each in CHECKS if not passes(each, supervisor, folder, environment)]
    if failed:
        say(f"Failed: {', '.join(failed)}")
        return 1
    say(f"All {len(CHECKS)} checks passed")
    return 0


def passes(asked: Check, supervisor: Supervisor, folder: DataFolder, environment: dict[str, str]) -> bool:
    """Run one check, show what it said when it failed, and return whether it passed.

    Raises:
        StopRequested: the end was asked for.
    """
    started = time.monotonic()
    log = folder.logs / f"{asked.question}.log"
    passed = True
    try:
        supervisor.run_once(Program(asked.question, asked.command, log, environment))
    except CannotStart:
        passed = False
        say(log.read_text().rstrip())
    say(f"{'passed' if passed else 'FAILED'}  {asked.question} ({time.monotonic() - started:.1f} s)")
    return passed


def format_code(arguments: list[str]) -> int:
    """Sort imports and lay out Python as the checks want it; return 1 when that failed."""
    ruff = tool("ruff")
    commands = ((ruff, "check", "--select", "I", "--fix", "."), (ruff, "format", "."))
    return max(subprocess.run(command, cwd=ROOT, check=False).returncode for command in commands)


def deployment_environment() -> dict[str, str]:
    """Return the environment of a shop behind TLS, whose settings are the ones to check."""
    own = {key: value for key, value in os.environ.items() if not key.startswith("SHOPCOOL_")}
    return {
        **own,
        "SHOPCOOL_SECRET_KEY": secrets.token_urlsafe(64),
        "SHOPCOOL_ALLOWED_HOSTS": "shop.example",
        "SHOPCOOL_SECURE_COOKIES": "yes",
        "SHOPCOOL_SSL_REDIRECT": "yes",
    }
