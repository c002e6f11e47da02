"""Root starts the database server under another account, without opening anybody's folders."""

from __future__ import annotations

import os
import pwd
from pathlib import Path

import pytest

from shopcool.standalone.account import Account, account_for
from shopcool.standalone.errors import CannotStart

OTHER = Account("other", uid=4321, gid=4321)


class TestCommand:
    def test_of_the_running_account_stays_as_it_is(self, tmp_path: Path) -> None:
        assert Account().command("postgres", needs=(tmp_path,)) == ("postgres",)

    def test_of_another_account_drops_root_and_ends_with_the_parent(self) -> None:
        command = OTHER.command("postgres", needs=(Path("/usr/bin"),))

        assert command == (
            *("setpriv", "--reuid=4321", "--regid=4321", "--clear-groups", "--pdeathsig=INT"),
            "postgres",
        )

    def test_a_closed_folder_is_passed_and_stays_closed(self, tmp_path: Path) -> None:
        closed = tmp_path / "closed"
        (closed / "inside").mkdir(parents=True)
        closed.chmod(0o700)

        command = OTHER.command("postgres", needs=(closed / "inside",))

        assert "--ambient-caps=+dac_override" in command
        assert closed.stat().st_mode & 0o777 == 0o700


class TestAccountFor:
    def test_an_ordinary_user_runs_everything_as_itself(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("os.geteuid", lambda: 1000)

        assert account_for(tmp_path) == Account()

    def test_root_goes_on_as_the_owner_of_the_data(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        entry = pwd.struct_passwd(("keeper", "x", 4321, 4322, "", "/", "/bin/sh"))
        status = os.stat_result((0o040700, 0, 0, 1, 4321, 4322, 0, 0, 0, 0))
        monkeypatch.setattr("os.geteuid", lambda: 0)
        monkeypatch.setattr("shutil.which", lambda name: f"/usr/bin/{name}")
        monkeypatch.setattr("pwd.getpwuid", lambda uid: entry)
        monkeypatch.setattr(Path, "stat", lambda path, **options: status)

        assert account_for(tmp_path) == Account("keeper", 4321, 4322)

    def test_root_that_can_t_step_down_is_told_to_start_otherwise(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("os.geteuid", lambda: 0)
        monkeypatch.setattr("shutil.which", lambda name: None)

        with pytest.raises(CannotStart, match="Start as an ordinary user"):
            account_for(tmp_path)
