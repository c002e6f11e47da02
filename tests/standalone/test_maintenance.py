"""A backup brings the data back, and a running shop is never overwritten."""

from __future__ import annotations

import tarfile
from pathlib import Path

import psycopg
import pytest

from shopcool.standalone import maintenance
from shopcool.standalone.archive import unpack
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


def files_of(folder: DataFolder) -> dict[str, bytes]:
    """Return the content of every file of the shop by its name."""
    return {path.name: path.read_bytes() for path in folder.files.rglob("*") if path.is_file()}


class TestBackup:
    def test_brings_back_what_was_lost_since(self, folder: DataFolder) -> None:
        execute(folder, "CREATE TABLE kept AS SELECT 42 AS answer")
        photos = folder.files / "attachments" / "ab"
        photos.mkdir(parents=True)
        (photos / "abc.jpg").write_bytes(b"a photo")
        (photos / "abd.jpg.77.part").write_bytes(b"half a pho")
        assert maintenance.backup([]) == 0
        (backup,) = folder.backups.iterdir()
        execute(folder, "DROP TABLE kept", "CREATE TABLE later AS SELECT 1 AS answer")
        (photos / "abc.jpg").write_bytes(b"another one")
        (photos / "later.jpg").write_bytes(b"of a later row")

        assert maintenance.restore([str(backup)]) == 0

        assert execute(folder, "SELECT answer FROM kept") == [(42,)]
        assert files_of(folder) == {"abc.jpg": b"a photo"}
        assert [path.name for path in folder.path.glob("*-*") if path.is_dir()] == []

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

    def test_takes_nothing_from_a_foreign_archive(self, folder: DataFolder, tmp_path: Path) -> None:
        evil = tmp_path / "evil.tar"
        with tarfile.open(evil, "w") as archive:
            archive.add(__file__, "files/../../secret-key")
        for name in ("into", "other"):
            (tmp_path / name).mkdir()

        with pytest.raises(CannotStart, match=r"no backup of ours: it holds files/\.\./"):
            unpack(evil, tmp_path / "into")
        evil.write_bytes(evil.read_bytes()[:700])
        with pytest.raises(CannotStart, match="damaged or no backup"):
            unpack(evil, tmp_path / "other")

    def test_wants_one_name(self, folder: DataFolder) -> None:
        with pytest.raises(CannotStart, match="Name one backup"):
            maintenance.restore([])
