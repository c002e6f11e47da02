"""The locks pin every package by hash and name no place they came from."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from shopcool.standalone.folder import ROOT

LOCKS = ("requirements.lock", "requirements-dev.lock", "requirements-bootstrap.lock")


def pins(name: str) -> dict[str, set[str]]:
    """Return the versions of each package in a lock."""
    found: dict[str, set[str]] = {}
    for package, version in re.findall(r"^([a-z0-9._-]+)==(\S+)", (ROOT / name).read_text(), re.MULTILINE):
        found.setdefault(package, set()).add(version)
    return found


def requirement_names(requirements: list[str]) -> set[str]:
    """Return the normalised names of requirements such as ``celery[redis]~=5.7``."""
    names = (re.split(r"[\[~=<>; ]", requirement, maxsplit=1)[0] for requirement in requirements)
    return {re.sub(r"[._-]+", "-", name).lower() for name in names}


@pytest.mark.parametrize("name", LOCKS)
class TestLock:
    def test_every_package_has_hashes(self, name: str) -> None:
        packages = re.split(r"^(?=[a-z0-9._-]+==)", (ROOT / name).read_text(), flags=re.MULTILINE)[1:]

        assert packages
        assert [package for package in packages if "--hash=sha256:" not in package] == []

    def test_no_address_and_no_folder_is_named(self, name: str) -> None:
        text = (ROOT / name).read_text()

        assert re.findall(r"https?://|file:|--(?:extra-)?index-url|--find-links|(?m:^-e )", text) == []
        assert [line for line in text.splitlines() if re.search(r"(^|\s)[./~]*/\w", line)] == []


class TestTogether:
    def test_the_development_lock_holds_every_pin_of_the_shop(self) -> None:
        development = pins("requirements-dev.lock")

        assert {name: development.get(name) for name in pins("requirements.lock")} == pins(
            "requirements.lock"
        )

    def test_every_declared_requirement_is_locked(self) -> None:
        project = tomllib.loads(Path(ROOT / "pyproject.toml").read_text())["project"]

        assert requirement_names(project["dependencies"]) <= set(pins("requirements.lock"))
        assert requirement_names(project["optional-dependencies"]["dev"]) <= set(
            pins("requirements-dev.lock")
        )
