"""The environment is installed anew exactly when a lock says something new."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from shopcool.standalone import bootstrap


@pytest.fixture
def environment(tmp_path: Path) -> Path:
    """A folder that looks like a virtual environment of this Python."""
    (tmp_path / "bin").mkdir()
    (tmp_path / "bin" / "python").symlink_to(sys.executable)
    return tmp_path


@pytest.fixture
def lock(tmp_path: Path) -> Path:
    """A lock file."""
    lock = tmp_path / "some.lock"
    lock.write_text("package==1\n")
    return lock


class TestIsCurrent:
    def test_before_anything_was_installed_it_is_not(self, environment: Path, lock: Path) -> None:
        assert not bootstrap.is_current(environment, lock)

    def test_after_installing_it_is(self, environment: Path, lock: Path) -> None:
        bootstrap.write_stamp(environment, lock)

        assert bootstrap.is_current(environment, lock)

    def test_a_changed_lock_ends_it(self, environment: Path, lock: Path) -> None:
        bootstrap.write_stamp(environment, lock)

        lock.write_text("package==2\n")

        assert not bootstrap.is_current(environment, lock)

    def test_a_python_that_no_longer_runs_ends_it(self, environment: Path, lock: Path) -> None:
        bootstrap.write_stamp(environment, lock)

        (environment / "bin" / "python").unlink()

        assert not bootstrap.is_current(environment, lock)

    def test_another_version_of_python_ends_it(self, environment: Path, lock: Path) -> None:
        bootstrap.write_stamp(environment, lock)
        stamp = bootstrap.stamp_path(environment)

        stamp.write_text(json.dumps({**json.loads(stamp.read_text()), "python": "3.1"}))

        assert not bootstrap.is_current(environment, lock)

    def test_a_spoilt_record_ends_it(self, environment: Path, lock: Path) -> None:
        bootstrap.write_stamp(environment, lock)

        bootstrap.stamp_path(environment).write_text("{")

        assert not bootstrap.is_current(environment, lock)


class TestDevelopmentLock:
    def test_it_satisfies_the_lock_of_the_running_shop(self, environment: Path) -> None:
        bootstrap.write_stamp(environment, bootstrap.DEVELOPMENT_LOCK)

        assert bootstrap.is_current(environment, bootstrap.RUN_LOCK)

    def test_the_lock_of_the_running_shop_does_not_satisfy_it(self, environment: Path) -> None:
        bootstrap.write_stamp(environment, bootstrap.RUN_LOCK)

        assert not bootstrap.is_current(environment, bootstrap.DEVELOPMENT_LOCK)


class TestPrepareEnvironment:
    @pytest.fixture
    def installed(self, monkeypatch: pytest.MonkeyPatch) -> list[str]:
        """The names of the locks that were installed."""
        names: list[str] = []
        monkeypatch.setattr(bootstrap, "install", lambda environment, lock: names.append(lock.name))
        return names

    def test_installs_once(self, environment: Path, lock: Path, installed: list[str]) -> None:
        bootstrap.prepare_environment(environment, lock)
        bootstrap.prepare_environment(environment, lock)

        assert installed == ["some.lock"]

    def test_a_broken_installation_is_not_taken_for_done(
        self, environment: Path, lock: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        bootstrap.write_stamp(environment, lock)
        lock.write_text("package==2\n")

        def fail(environment: Path, lock: Path) -> None:
            raise bootstrap.CannotStart("no network")

        monkeypatch.setattr(bootstrap, "install", fail)
        with pytest.raises(bootstrap.CannotStart, match="no network"):
            bootstrap.prepare_environment(environment, lock)

        lock.write_text("package==1\n")
        assert not bootstrap.is_current(environment, lock)


class TestInstall:
    def test_falls_back_to_the_ordinary_installer_with_hashes(
        self, environment: Path, lock: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        commands: list[list[str]] = []

        def refuse_the_quick_one(command: list[str], must_succeed: bool = True) -> bool:
            commands.append(command)
            return "--no-deps" in command

        monkeypatch.setattr(bootstrap, "watch", refuse_the_quick_one)
        bootstrap.install(environment, lock)

        assert commands[-1][-1] == str(lock)
        assert "--require-hashes" in commands[-1]

    def test_says_so_when_nothing_helps(
        self, environment: Path, lock: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(bootstrap, "watch", lambda command, must_succeed=True: False)

        with pytest.raises(bootstrap.CannotStart, match=r"packages of some\.lock could not be installed"):
            bootstrap.install(environment, lock)


class TestProcessEnvironment:
    def test_compiled_modules_are_kept_outside_the_source_for_whoever_wants_none_in_it(self) -> None:
        made = bootstrap.process_environment({"PYTHONDONTWRITEBYTECODE": "1", "LANG": "C"})

        assert made == {"LANG": "C", "PYTHONPYCACHEPREFIX": str(bootstrap.ENVIRONMENT / "compiled")}

    def test_otherwise_nothing_changes(self) -> None:
        assert bootstrap.process_environment({"LANG": "C"}) == {"LANG": "C"}


def test_a_package_of_the_system_is_asked_for_where_it_may_not_be_installed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("os.geteuid", lambda: 1000)

    with pytest.raises(bootstrap.CannotStart, match="needs of the system: python3-venv"):
        bootstrap.add_debian_packages("python3-venv")
