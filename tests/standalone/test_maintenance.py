"""A backup brings the data back, and a running shop is never overwritten."""

from __future__ import annotations

from pathlib import Path

import psycopg
import pytest

from shopcool.standalone import maintenance
from shopcool.standalone.errors import CannotStart
from shopcool.standalone.folder import DataFolder
from shopcool.standalone.supervisor import Supervisor


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> DataFolder:
    """The data folder that the commands work on."""
    monkeypatch.setenv("SHOPCOOL_DATA", str(tmp_path))
    monkeypatch.delenv("DATABASE_URL", raising=False)
    monkeypatch.delenv("REDIS_URL", raising=False)
    # The signals of this process belong to the test runner.
    monkeypatch.setattr(Supervisor, "listen", lambda supervisor: None)
    return DataFolder(tmp_path)


def execute(folder: DataFolder, *statements: str) -> list[tuple[object, ...]]:
    """Execute statements in the shop's database and return the rows of the last."""
    with (
        maintenance.reachable_services(folder) as addresses,
        psycopg.connect(addresses.database_url) as connection,
    ):
        for statement in statements:
            cursor = connection.execute(statement)  # type: ignore[call-overload]
        return cursor.fetchall() if cursor.description else []


class TestBackup:
    def test_brings_back_what_was_lost_since(self, folder: DataFolder) -> None:
        execute(folder, "CREATE TABLE kept AS SELECT 42 AS answer")
        assert maintenance.backup([]) == 0
        (backup,) = folder.backups.iterdir()
        execute(folder, "DROP TABLE kept", "CREATE TABLE later AS SELECT 1 AS answer")

        assert maintenance.restore([str(backup)]) == 0

        assert execute(folder, "SELECT answer FROM kept") == [(42,)]

    def test_is_private(self, folder: DataFolder) -> None:
        maintenance.backup([])

        assert folder.backups.stat().st_mode & 0o077 == 0


class TestRestore:
    def test_never_overwrites_a_running_shop(self, folder: DataFolder) -> None:
        with (
            folder.claim(),
            pytest.raises(CannotStart, match="Stop Shopcool before its database is replaced"),
        ):
            maintenance.restore(["some.dump"])

    def test_names_a_backup_that_does_not_exist(self, folder: DataFolder) -> None:
        with pytest.raises(CannotStart, match=r"There is no backup some\.dump"):
            maintenance.restore(["some.dump"])

    def test_wants_one_name(self, folder: DataFolder) -> None:
        with pytest.raises(CannotStart, match="Name one backup"):
            maintenance.restore([])
