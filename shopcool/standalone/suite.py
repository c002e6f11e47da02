"""``make test`` and ``make bench``: the suite and the measurements on throwaway servers."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

from shopcool.standalone.bootstrap import CannotStart as CannotInstall
from shopcool.standalone.bootstrap import add_debian_packages
from shopcool.standalone.folder import DataFolder
from shopcool.standalone.foreground import run_in_foreground
from shopcool.standalone.services import Addresses, throwaway_services
from shopcool.standalone.supervisor import Supervisor
from shopcool.standalone.terminal import say

BROWSERS = ("chromium", "chromium-browser")
#: Many tests wait for servers and browsers, so three processes keep two cores busy.
PARALLEL = ("-n", "3", "--dist", "worksteal")


def test(arguments: list[str]) -> int:
    """Run pytest and return its exit status; without arguments the whole suite in three processes."""
    provide_browser()
    supervisor = Supervisor()
    supervisor.listen()
    with throwaway_services(supervisor) as (folder, addresses):
        command = [sys.executable, "-m", "pytest", *(arguments or PARALLEL)]
        return run_in_foreground(command, suite_environment(folder, addresses))


def bench(arguments: list[str]) -> int:
    """Measure and return the exit status of the measurements."""
    supervisor = Supervisor()
    supervisor.listen()
    with throwaway_services(supervisor) as (folder, addresses):
        environment = suite_environment(folder, addresses)
        environment["SHOPCOOL_SECRET_KEY"] = folder.secret_key()
        return run_in_foreground([sys.executable, "-m", "tests.benchmarks", *arguments], environment)


def suite_environment(folder: DataFolder, addresses: Addresses) -> dict[str, str]:
    """Return the environment of a test run: nothing of this person's shop reaches it."""
    own = {key: value for key, value in os.environ.items() if not key.startswith("SHOPCOOL_")}
    if browser := os.environ.get("SHOPCOOL_CHROMIUM"):
        own["SHOPCOOL_CHROMIUM"] = browser
    return {**own, **addresses.environment(), "SHOPCOOL_DATA": str(folder.path / "data")}


def provide_browser() -> None:
    """Install Chromium where this may be done; say it where the browser tests will be skipped."""
    if os.environ.get("SHOPCOOL_CHROMIUM") or any(shutil.which(name) for name in BROWSERS):
        return
    try:
        # Without a font of the system every page would be blank.
        add_debian_packages("chromium", "fonts-liberation")
    except (CannotInstall, subprocess.CalledProcessError):
        say("There is no Chromium here: the tests that drive a browser are skipped.")
