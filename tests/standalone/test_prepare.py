"""Before the shop opens its tables, static files and demo are brought up to date, and only then."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytest_django.fixtures import Settings

from shopcool.people.models import User
from shopcool.standalone import prepare


@pytest.fixture
def static(settings: Settings, tmp_path: Path) -> Path:
    """A folder with one static file, and a place to collect it into."""
    source = tmp_path / "source"
    source.mkdir()
    (source / "shop.css").write_text("body { color: green }")
    settings.STATICFILES_DIRS = [source]
    settings.STATICFILES_FINDERS = ["django.contrib.staticfiles.finders.FileSystemFinder"]
    settings.STATIC_ROOT = tmp_path / "collected"
    settings.WHITENOISE_USE_FINDERS = False
    return source


class TestCollectStatic:
    def test_collects_once(self, static: Path, settings: Settings) -> None:
        prepare.collect_static()
        collected = Path(settings.STATIC_ROOT) / "shop.css"
        assert collected.read_text() == "body { color: green }"

        collected.unlink()
        prepare.collect_static()

        assert not collected.exists()

    def test_collects_again_after_a_change(self, static: Path, settings: Settings) -> None:
        prepare.collect_static()

        (static / "shop.css").write_text("body { color: blue }")
        prepare.collect_static()

        assert (Path(settings.STATIC_ROOT) / "shop.css").read_text() == "body { color: blue }"


@pytest.mark.django_db
class TestLoadDemo:
    @pytest.fixture
    def called(self, monkeypatch: pytest.MonkeyPatch) -> list[str]:
        """The names of the commands that were called."""
        names: list[str] = []
        monkeypatch.delenv("SHOPCOOL_DEMO", raising=False)
        monkeypatch.setattr(prepare, "call_command", lambda name, **options: names.append(name))
        return names

    def test_an_empty_database_gets_the_demo_workshop(self, called: list[str]) -> None:
        prepare.load_demo()

        assert called == ["demo_load"]

    def test_a_shop_with_people_never_does(self, called: list[str]) -> None:
        User.objects.create_user("owner", full_name="An Owner")

        prepare.load_demo()

        assert called == []

    @pytest.mark.parametrize("word", ["no", "No", "0", "false"])
    def test_a_real_shop_can_do_without(
        self, called: list[str], word: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("SHOPCOOL_DEMO", word)

        prepare.load_demo()

        assert called == []


@pytest.mark.django_db
class TestMigrate:
    def test_says_nothing_when_the_tables_are_up_to_date(self, capfd: pytest.CaptureFixture[str]) -> None:
        prepare.migrate()

        assert capfd.readouterr().out == ""
