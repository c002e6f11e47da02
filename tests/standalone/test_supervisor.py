"""Children are kept alive, and none outlives the supervisor."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import psutil
import pytest

from shopcool.standalone.children import Program
from shopcool.standalone.errors import CannotStart, StopRequested
from shopcool.standalone.supervisor import Backoff, Supervisor
from tests.standalone.waiting import eventually

# Ignores TERM and starts a child of its own that does too.
STUBBORN = (
    "import os, signal, sys, time; signal.signal(signal.SIGTERM, signal.SIG_IGN); "
    "os.fork(); open(sys.argv[1], 'a').write(f'{os.getpid()} '); time.sleep(60)"
)
PATIENT = "import sys, time; open(sys.argv[1], 'a').write('up '); time.sleep(60)"


@pytest.fixture
def supervisor() -> Iterator[Supervisor]:
    """A supervisor that leaves nothing behind."""
    supervisor = Supervisor()
    yield supervisor
    supervisor.stop()


@pytest.fixture
def program(tmp_path: Path) -> Callable[..., Program]:
    """Make a program of a line of Python; its first argument is a file to write into."""

    def make(code: str, grace_s: float = 5.0) -> Program:
        command = (sys.executable, "-c", code, str(tmp_path / "written"))
        return Program("Fake", command, tmp_path / "logs" / "fake.log", grace_s=grace_s)

    return make


def written(folder: Path) -> list[str]:
    """Return the words that the programs wrote."""
    place = folder / "written"
    return place.read_text().split() if place.exists() else []


def is_gone(process: int) -> bool:
    """Say whether a process has ended (one that nobody has collected yet counts as ended)."""
    try:
        return psutil.Process(process).status() == psutil.STATUS_ZOMBIE
    except psutil.NoSuchProcess:
        return True


class TestBackoff:
    def test_waits_double_up_to_the_longest(self) -> None:
        backoff = Backoff(first_s=0.5, longest_s=4.0)

        assert [backoff.delay_after(0.1) for _ in range(5)] == [0.5, 1.0, 2.0, 4.0, 4.0]

    def test_a_calm_run_is_forgiven(self) -> None:
        backoff = Backoff(first_s=0.5, calm_s=60.0)
        for _ in range(4):
            backoff.delay_after(0.1)

        assert backoff.delay_after(60.0) == 0.5


class TestWatch:
    def test_a_child_that_dies_is_started_again_and_said(
        self,
        supervisor: Supervisor,
        program: Callable[..., Program],
        tmp_path: Path,
        capsys: pytest.CaptureFixture[str],
    ) -> None:
        child = supervisor.start(program(PATIENT), Backoff(first_s=0.05))
        assert eventually(lambda: written(tmp_path) == ["up"])
        assert child.process is not None
        first = child.process.pid
        os.kill(first, signal.SIGKILL)

        def look() -> bool:
            for supervised in supervisor.supervised:
                supervised.look_after(time.monotonic())
            return written(tmp_path) == ["up", "up"]

        assert eventually(look)
        assert child.process.pid != first
        shown = capsys.readouterr().out
        assert "Fake was ended by SIGKILL. Starting it again in 0.05 s." in shown
        assert "Fake was started again." in shown

    def test_it_ends_when_the_end_is_asked_for(self, supervisor: Supervisor) -> None:
        supervisor.request_stop()

        supervisor.watch()

        assert supervisor.stop_requested


class TestStop:
    def test_a_polite_child_ends_at_once(
        self, supervisor: Supervisor, program: Callable[..., Program], tmp_path: Path
    ) -> None:
        child = supervisor.start(program(PATIENT))
        assert eventually(lambda: written(tmp_path))

        supervisor.stop()

        assert child.exit_status == -signal.SIGTERM

    def test_a_stubborn_child_and_its_own_child_are_killed_when_their_time_is_over(
        self, supervisor: Supervisor, program: Callable[..., Program], tmp_path: Path
    ) -> None:
        supervisor.start(program(STUBBORN, grace_s=0.2))
        assert eventually(lambda: len(written(tmp_path)) == 2)

        supervisor.stop()

        assert eventually(lambda: all(is_gone(int(process)) for process in written(tmp_path)))

    def test_a_second_request_ends_a_stubborn_child_at_once(
        self, supervisor: Supervisor, program: Callable[..., Program], tmp_path: Path
    ) -> None:
        supervisor.start(program(STUBBORN, grace_s=60.0))
        assert eventually(lambda: len(written(tmp_path)) == 2)
        supervisor.request_stop()
        time.sleep(1.1)
        supervisor.request_stop()

        started = time.monotonic()
        supervisor.stop()

        assert time.monotonic() - started < 5.0

    def test_one_request_that_arrives_twice_stays_polite(self, supervisor: Supervisor) -> None:
        supervisor.request_stop()
        supervisor.request_stop()

        assert supervisor._requests == 1

    def test_stages_end_one_after_the_other(
        self, supervisor: Supervisor, program: Callable[..., Program], tmp_path: Path
    ) -> None:
        telling = (
            "import signal, sys, time; f = sys.argv[1]; name = {0!r}; "
            "signal.signal(signal.SIGTERM, lambda *a: (open(f, 'a').write(name + '-ended '), sys.exit())); "
            "open(f, 'a').write(name + ' '); time.sleep(60)"
        )
        supervisor.start(program(telling.format("database")))
        web = supervisor.start(program(telling.format("web")))
        assert eventually(lambda: len(written(tmp_path)) == 2)

        supervisor.stop([web])

        assert written(tmp_path)[2:] == ["web-ended", "database-ended"]


class TestRunOnce:
    def test_a_failure_shows_what_was_logged(
        self, supervisor: Supervisor, program: Callable[..., Program], tmp_path: Path
    ) -> None:
        failing = program("import sys; print('no such table'); sys.exit(3)")

        with pytest.raises(CannotStart, match=r"(?s)exit status 3.*no such table.*fake\.log"):
            supervisor.run_once(failing)

    def test_a_request_to_stop_ends_it(
        self, supervisor: Supervisor, program: Callable[..., Program], tmp_path: Path
    ) -> None:
        supervisor.request_stop()

        with pytest.raises(StopRequested):
            supervisor.run_once(program(PATIENT))


class TestWaitUntil:
    def test_a_child_that_ends_first_is_reported(
        self, supervisor: Supervisor, program: Callable[..., Program]
    ) -> None:
        child = supervisor.start(program("print('out of memory')"))

        with pytest.raises(CannotStart, match=r"(?s)ended with exit status 0.*out of memory"):
            supervisor.wait_until(lambda: False, child, timeout_s=10)

    def test_a_child_that_never_gets_ready_is_reported(
        self, supervisor: Supervisor, program: Callable[..., Program]
    ) -> None:
        child = supervisor.start(program(PATIENT))

        with pytest.raises(CannotStart, match=r"was not ready after 0\.2 s"):
            supervisor.wait_until(lambda: False, child, timeout_s=0.2)


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells children of their parent's death")
def test_children_end_even_when_the_supervisor_is_killed(tmp_path: Path) -> None:
    code = (
        "import sys, time; from pathlib import Path\n"
        "from shopcool.standalone.children import Child, Program\n"
        "here = Path(sys.argv[1]); inner = 'import time; time.sleep(60)'\n"
        "child = Child(Program('Fake', (sys.executable, '-c', inner), here / 'fake.log')); child.start()\n"
        "(here / 'written').write_text(str(child.process.pid)); time.sleep(60)"
    )
    with subprocess.Popen([sys.executable, "-c", code, str(tmp_path)]) as parent:
        assert eventually(lambda: written(tmp_path))
        parent.kill()

    assert eventually(lambda: is_gone(int(written(tmp_path)[0])))
