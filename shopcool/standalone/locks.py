"""``make lock``: the lock files, compiled from pyproject.toml for every platform and supported Python."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from shopcool.standalone.folder import ROOT
from shopcool.standalone.terminal import say

OLDEST_PYTHON = "3.11"
INSTALLER = "uv"
# No index and no annotation: a lock names packages and hashes, not the place it was made at.
OPTIONS = ("--universal", "--generate-hashes", "--no-emit-index-url", "--no-annotate", "--quiet", "--upgrade")


def lock(arguments: list[str]) -> int:
    """Compile all locks to the newest allowed versions and return the exit status."""
    compile_lock("requirements.lock", "pyproject.toml")
    compile_lock("requirements-dev.lock", "pyproject.toml", "--extra", "dev", "-c", "requirements.lock")
    compile_lock("requirements-bootstrap.lock", "-", requirements=INSTALLER)
    return 0


def compile_lock(name: str, *sources: str, requirements: str = "") -> None:
    """Write one lock file from its sources, or from requirements given as text."""
    say(f"Compiling {name}")
    compiler = (str(Path(sys.executable).parent / "uv"), "pip", "compile")
    target = ("--python-version", OLDEST_PYTHON, "--output-file", name)
    environment = {**os.environ, "UV_CUSTOM_COMPILE_COMMAND": "make lock"}
    subprocess.run(
        [*compiler, *sources, *OPTIONS, *target],
        cwd=ROOT,
        env=environment,
        input=requirements,
        text=True,
        check=True,
        stdout=subprocess.DEVNULL,
    )
