"""One command starts the whole shop, keeps it alive and leaves nothing behind."""

from __future__ import annotations

import signal
import subprocess
from collections.abc import Iterator

import psutil
import pytest

from tests.standalone.shop_process import ShopProcess, descendants, survivors
from tests.standalone.waiting import eventually


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> ShopProcess:
    """A shop with a data folder that does not exist yet."""
    return ShopProcess(tmp_path_factory.mktemp("machine") / "data")


@pytest.fixture
def running(shop: ShopProcess) -> Iterator[subprocess.Popen[bytes]]:
    """The shop, ready; killed with everything below it when a test failed halfway."""
    process = shop.start()
    below = descendants(process)
    yield process
    if process.poll() is None:
        process.kill()
        process.wait()
    for left in survivors(below, timeout_s=10):
        left.kill()


# One test each for the first start and for a later one: a start costs seconds.
@pytest.mark.long
class TestRun:
    def test_first_start_serves_restarts_what_dies_and_stops_cleanly(
        self, shop: ShopProcess, running: subprocess.Popen[bytes]
    ) -> None:
        assert shop.health() == 200
        assert "Making a new PostgreSQL database" in shop.said

        second = shop.run("run")
        assert second.returncode == 1
        assert f"already runs as process {running.pid} at {shop.address}" in second.stdout

        web = child_with(running, "gunicorn")
        web.kill()
        assert eventually(lambda: "Web server was started again." in shop.said), shop.said
        assert "Web server was ended by SIGKILL. Starting it again in 0.5 s." in shop.said
        # The supervisor kept the socket open, so the question waits instead of being refused.
        assert shop.health() == 200

        everything = descendants(running)
        assert {"postgres", "valkey-server"} <= {process.name() for process in everything}
        running.send_signal(signal.SIGTERM)
        assert running.wait(timeout=60) == 0, shop.said
        assert survivors(everything, timeout_s=1) == []
        assert "Everything is stopped." in shop.said

    def test_a_killed_supervisor_takes_everything_with_it_and_the_data_is_usable_afterwards(
        self, shop: ShopProcess, running: subprocess.Popen[bytes]
    ) -> None:
        assert "Starting PostgreSQL" in shop.said
        everything = descendants(running)

        running.kill()

        assert survivors(everything) == []
        answer = shop.run("manage", "migrate", "--check")
        assert answer.returncode == 0, answer.stdout + answer.stderr


def child_with(process: subprocess.Popen[bytes], word: str) -> psutil.Process:
    """Return the direct child whose command has this word."""
    return next(child for child in psutil.Process(process.pid).children() if word in child.cmdline())
