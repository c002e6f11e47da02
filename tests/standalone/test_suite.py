"""The suite has a browser or says that it has none, and never meets this person's own shop."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from shopcool.standalone import suite
from shopcool.standalone.bootstrap import CannotStart
from shopcool.standalone.checks import Check, passes
from shopcool.standalone.folder import DataFolder
from shopcool.standalone.services import Addresses
from shopcool.standalone.supervisor import Supervisor


class TestProvideBrowser:
    @pytest.fixture(autouse=True)
    def without_browser(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """A machine without Chromium."""
        monkeypatch.delenv("SHOPCOOL_CHROMIUM", raising=False)
        monkeypatch.setattr("shutil.which", lambda name: None)

    def test_where_nothing_can_be_installed_one_line_says_what_is_skipped(
        self, capsys: pytest.CaptureFixture[str]
    ) -> None:
        suite.provide_browser()

        assert capsys.readouterr().out == (
            "There is no Chromium here: the tests that drive a browser are skipped.\n"
        )

    def test_elsewhere_it_is_installed_with_a_font(self, monkeypatch: pytest.MonkeyPatch) -> None:
        installed: list[str] = []
        monkeypatch.setattr(suite, "add_debian_packages", lambda *names: installed.extend(names))

        suite.provide_browser()

        assert installed == ["chromium", "fonts-liberation"]

    def test_a_browser_of_one_s_own_is_taken_as_it_is(self, monkeypatch: pytest.MonkeyPatch) -> None:
        def refuse(*names: str) -> None:
            raise CannotStart("nothing may be installed")

        monkeypatch.setenv("SHOPCOOL_CHROMIUM", "/opt/browser")
        monkeypatch.setattr(suite, "add_debian_packages", refuse)

        suite.provide_browser()

        made = suite.suite_environment(DataFolder(Path("/shop")), Addresses("postgresql:///t", "unix:///t"))
        assert made["SHOPCOOL_CHROMIUM"] == "/opt/browser"


def test_nothing_of_this_person_s_shop_reaches_the_suite(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DATABASE_URL", "postgresql://shop.example/real")
    monkeypatch.setenv("SHOPCOOL_SECRET_KEY", "of the real shop")

    made = suite.suite_environment(
        DataFolder(Path("/shop")), Addresses("postgresql:///thrown", "unix:///thrown")
    )

    assert made["DATABASE_URL"] == "postgresql:///thrown"
    assert "SHOPCOOL_SECRET_KEY" not in made


class TestPasses:
    def ask(self, code: str, folder: Path) -> bool:
        """Return whether a check passes that is this line of Python."""
        return passes(Check("Types", (sys.executable, "-c", code)), Supervisor(), DataFolder(folder), {})

    def test_a_good_answer_is_one_line(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert self.ask("print('no error in 300 files')", tmp_path)

        assert capsys.readouterr().out.startswith("passed  Types (")

    def test_a_bad_answer_is_shown_whole(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert not self.ask("[print('error', n) for n in range(40)]; raise SystemExit(1)", tmp_path)

        shown = capsys.readouterr().out
        assert "error 0\n" in shown
        assert "FAILED  Types (" in shown
