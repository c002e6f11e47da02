"""A shop that make started ends with make, however make ends."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest

from shopcool.standalone.parent import Parent
from tests.standalone.waiting import eventually

CHILD = """
import sys, time
from shopcool.standalone.parent import Parent
from shopcool.standalone.supervisor import Supervisor
parent = Parent(); parent.follow()
supervisor = Supervisor(is_over=parent.was_interrupted)
supervisor.listen()
open(sys.argv[1], "w").write("up ")
supervisor.watch()
open(sys.argv[1], "a").write("ended")
"""


@pytest.mark.skipif(sys.platform != "linux", reason="reads the parent's state from /proc")
@pytest.mark.skipif(shutil.which("make") is None, reason="make is not installed")
class TestMake:
    @pytest.mark.parametrize(
        "number", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL], ids=lambda each: each.name
    )
    def test_a_signal_to_make_alone_ends_its_child(self, number: signal.Signals, tmp_path: Path) -> None:
        written = tmp_path / "written"
        (tmp_path / "child.py").write_text(CHILD)
        recipe = f"SHOPCOOL_STOP_WITH_PARENT=1 exec {sys.executable} {tmp_path}/child.py {written}"
        (tmp_path / "Makefile").write_text(f"run:\n\t@{recipe}\n")
        environment = {**os.environ, "PYTHONPATH": str(Path.cwd())}
        make = subprocess.Popen(
            ["make", "-C", str(tmp_path), "run"],
            env=environment,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
            # A suite that runs in the background was started with the interrupt ignored, and hands that on.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )
        try:
            assert eventually(written.exists)
            make.send_signal(number)

            assert eventually(lambda: written.read_text() == "up ended")
            assert make.wait(timeout=30) != 0
        finally:
            with suppress(ProcessLookupError):
                os.killpg(make.pid, signal.SIGKILL)


def test_a_parent_that_does_not_ask_for_it_is_not_followed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SHOPCOOL_STOP_WITH_PARENT", raising=False)
    monkeypatch.setattr(Parent, "_blocks_interrupts", lambda parent: True)
    parent = Parent()

    assert [parent.was_interrupted() for _ in range(5)] == [False] * 5


def test_an_instant_with_the_signal_blocked_is_no_interrupt(monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = iter([True, True, False, True, True, True])
    monkeypatch.setenv("SHOPCOOL_STOP_WITH_PARENT", "1")
    monkeypatch.setattr(Parent, "_blocks_interrupts", lambda parent: next(blocked))
    parent = Parent()

    assert [parent.was_interrupted() for _ in range(6)] == [False] * 5 + [True]
