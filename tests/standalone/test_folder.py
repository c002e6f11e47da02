"""A data folder has one user at a time, one secret, and sockets that fit."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from shopcool.standalone.account import Account
from shopcool.standalone.errors import CannotStart
from shopcool.standalone.folder import LONGEST_SOCKET_NAME, DataFolder, data_folder

SELF = Account()


class TestClaim:
    def test_a_second_run_is_told_who_has_the_folder(self, tmp_path: Path) -> None:
        folder = DataFolder(tmp_path)
        with folder.claim() as state:
            state.write("http://localhost:8000/")

            expected = f"already runs as process {os.getpid()} at http://localhost:8000/.*{tmp_path}"
            with pytest.raises(CannotStart, match=expected), folder.claim():
                pytest.fail("two runs on one folder")

    def test_a_run_that_is_still_starting_counts(self, tmp_path: Path) -> None:
        folder = DataFolder(tmp_path)

        with folder.claim(), pytest.raises(CannotStart, match="still starting"), folder.claim():
            pytest.fail("two runs on one folder")

    def test_the_folder_is_free_again_afterwards(self, tmp_path: Path) -> None:
        folder = DataFolder(tmp_path)
        with folder.claim():
            assert folder.is_in_use()

        assert not folder.is_in_use()
        with folder.claim():
            assert folder.is_in_use()

    def test_what_is_made_meanwhile_is_private(self, tmp_path: Path) -> None:
        folder = DataFolder(tmp_path / "new")
        with folder.claim():
            (folder.path / "report").write_text("")
        (folder.path / "later").write_text("")

        assert (folder.path / "report").stat().st_mode & 0o077 == 0
        assert (folder.path / "later").stat().st_mode & 0o044 == 0o044
        assert folder.path.stat().st_mode & 0o066 == 0

    def test_what_a_killed_run_wrote_does_not_count(self, tmp_path: Path) -> None:
        folder = DataFolder(tmp_path)
        folder.state.write_text('{"process": 1, "address": "http://localhost:8000/"}')

        assert not folder.is_in_use()
        with folder.claim():
            assert str(os.getpid()) in folder.state.read_text()

    def test_a_place_that_is_no_folder_is_named(self, tmp_path: Path) -> None:
        (tmp_path / "taken").write_text("")

        with (
            pytest.raises(CannotStart, match=r"taken can't be written"),
            DataFolder(tmp_path / "taken").claim(),
        ):
            pytest.fail("a file is no folder")


class TestSecretKey:
    def test_is_made_once_and_private(self, tmp_path: Path) -> None:
        key = DataFolder(tmp_path).secret_key()

        assert DataFolder(tmp_path).secret_key() == key
        assert len(key) >= 50
        assert stat.S_IMODE((tmp_path / "secret-key").stat().st_mode) == 0o600

    def test_differs_between_shops(self, tmp_path: Path) -> None:
        shops = [tmp_path / "first", tmp_path / "second"]
        for shop in shops:
            shop.mkdir()

        assert len({DataFolder(shop).secret_key() for shop in shops}) == len(shops)

    def test_a_spoilt_one_is_refused(self, tmp_path: Path) -> None:
        (tmp_path / "secret-key").write_text("short")

        with pytest.raises(CannotStart, match="too short"):
            DataFolder(tmp_path).secret_key()


class TestSockets:
    def test_lie_inside_when_the_path_is_short(self) -> None:
        assert DataFolder(Path("/srv/shop/.data")).sockets(SELF) == Path("/srv/shop/.data/run")

    @pytest.mark.parametrize(
        "data",
        [
            pytest.param("/srv/" + "long/" * 20 + ".data", id="longer than a socket's address"),
            pytest.param("/srv/My Shop/.data", id="with a space"),
            pytest.param("/srv/Kälte/.data", id="with a letter that addresses quote"),
        ],
    )
    def test_lie_in_the_temporary_folder_otherwise(self, data: str, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("tempfile.gettempdir", lambda: "/short")

        sockets = DataFolder(Path(data)).sockets(SELF)

        assert sockets.parent == Path("/short")
        # sockaddr_un: 108 bytes with the closing zero on Linux, unix(7); 104 on other systems.
        assert len(os.fsencode(sockets / LONGEST_SOCKET_NAME)) < 104

    def test_two_shops_never_share_them(self) -> None:
        long = "/srv/" + "long/" * 20

        assert DataFolder(Path(long + "a")).sockets(SELF) != DataFolder(Path(long + "b")).sockets(SELF)

    def test_a_folder_that_others_may_enter_is_refused(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("tempfile.gettempdir", lambda: str(tmp_path))
        folder = DataFolder(Path("/srv/My Shop"))
        folder.sockets(SELF).mkdir(mode=0o755)

        with pytest.raises(CannotStart, match="not a private folder of this account"):
            folder.sockets(SELF)


class TestDataFolder:
    def test_lies_beside_the_code(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.delenv("SHOPCOOL_DATA", raising=False)

        assert data_folder().path.name == ".data"
        assert (data_folder().path.parent / "manage.py").exists()

    def test_lies_where_the_environment_says(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        monkeypatch.setenv("SHOPCOOL_DATA", str(tmp_path / "shop"))

        assert data_folder().path == tmp_path / "shop"
