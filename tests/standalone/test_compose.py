"""The compose file describes the same shop in containers; its commands run against outside servers."""

from __future__ import annotations

import os
import re
import shlex
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import yaml

from shopcool.standalone import network
from shopcool.standalone.folder import ROOT, DataFolder
from shopcool.standalone.services import Addresses, Services
from shopcool.standalone.supervisor import Supervisor
from tests.standalone.waiting import eventually

PATIENCE_S = 120.0
APPLICATION = ("migrate", "web", "worker", "beat")
SECRETS = {"POSTGRES_PASSWORD": "letters", "SHOPCOOL_SECRET_KEY": "k" * 64}
# The properties of a service used here, from the Compose Specification, chapter 5, Services.
SERVICE_PROPERTIES = {
    *("build", "command", "depends_on", "environment", "healthcheck", "image", "init", "ports"),
    *("restart", "stop_grace_period", "stop_signal", "volumes"),
}
CONDITIONS = {"service_started", "service_healthy", "service_completed_successfully"}


def interpolate(value: Any, variables: dict[str, str]) -> Any:
    """Fill in variables as Compose does: ``${NAME:-default}``, ``${NAME:?error}`` and ``$$``."""
    if isinstance(value, dict):
        return {key: interpolate(each, variables) for key, each in value.items()}
    if isinstance(value, list):
        return [interpolate(each, variables) for each in value]
    return (
        re.sub(r"\$\$|\$\{(\w+):([-?])([^}]*)\}", _filler(variables), value)
        if isinstance(value, str)
        else value
    )


def _filler(variables: dict[str, str]) -> Callable[[re.Match[str]], str]:
    def fill(match: re.Match[str]) -> str:
        if match.group(0) == "$$":
            return "$"
        name, kind, text = match.groups()
        if variables.get(name):
            return variables[name]
        if kind == "?":
            raise KeyError(f"{name}: {text}")
        return text

    return fill


@pytest.fixture(scope="module")
def compose() -> dict[str, Any]:
    """The compose file with its two secrets filled in."""
    return dict(interpolate(yaml.safe_load((ROOT / "docker-compose.yml").read_text()), SECRETS))


class TestShape:
    def test_every_service_uses_known_properties(self, compose: dict[str, Any]) -> None:
        services = compose["services"]

        assert set().union(*services.values()) <= SERVICE_PROPERTIES
        assert set(services) == {"database", "broker", *APPLICATION}

    def test_every_dependency_exists_and_has_a_condition(self, compose: dict[str, Any]) -> None:
        services = compose["services"]
        for service in services.values():
            for name, dependency in service.get("depends_on", {}).items():
                assert name in services
                assert dependency["condition"] in CONDITIONS

    def test_what_is_waited_for_as_healthy_has_a_health_check(self, compose: dict[str, Any]) -> None:
        services = compose["services"]
        healthy = {
            name
            for service in services.values()
            for name, dependency in service.get("depends_on", {}).items()
            if dependency["condition"] == "service_healthy"
        }

        assert healthy == {"database", "broker"}
        assert all(services[name]["healthcheck"]["test"][0] == "CMD" for name in healthy)

    def test_everything_that_serves_waits_for_the_migrations(self, compose: dict[str, Any]) -> None:
        for name in ("web", "worker", "beat"):
            assert compose["services"][name]["depends_on"]["migrate"] == {
                "condition": "service_completed_successfully"
            }
        assert compose["services"]["migrate"]["restart"] == "no"

    def test_every_named_volume_is_declared(self, compose: dict[str, Any]) -> None:
        used = {
            volume.split(":")[0] for service in compose["services"].values() for volume in service["volumes"]
        }

        assert used == set(compose["volumes"])

    @pytest.mark.parametrize("missing", SECRETS)
    def test_it_does_not_start_without_a_secret(self, missing: str) -> None:
        others = {name: value for name, value in SECRETS.items() if name != missing}

        with pytest.raises(KeyError, match=f"{missing}: set it in .env"):
            interpolate(yaml.safe_load((ROOT / "docker-compose.yml").read_text()), others)

    def test_every_variable_is_explained(self) -> None:
        named = set(re.findall(r"\$\{(\w+):", (ROOT / "docker-compose.yml").read_text()))
        explained = set(re.findall(r"^(\w+)=", (ROOT / ".env.example").read_text(), re.MULTILINE))

        assert named <= explained

    def test_every_setting_is_explained(self) -> None:
        read = set(re.findall(r'env_\w+\(\s*"(\w+)"', (ROOT / "shopcool" / "settings.py").read_text()))
        explained = set(re.findall(r"^(\w+)=", (ROOT / ".env.example").read_text(), re.MULTILINE))

        assert read <= explained


class TestImage:
    def test_it_holds_every_package_of_ours_and_nothing_else(self) -> None:
        copied = set(re.findall(r"^COPY (\S+) \S+$", (ROOT / "Dockerfile").read_text(), re.MULTILINE))
        let_in = set(re.findall(r"^!(\S+)$", (ROOT / ".dockerignore").read_text(), re.MULTILINE))

        assert copied == let_in
        assert {"shopcool", "equipment", "jobs", "templates", "manage.py"} <= copied
        assert all((ROOT / name).exists() for name in copied)

    def test_it_does_not_run_as_root(self) -> None:
        instructions = [line.split()[0] for line in (ROOT / "Dockerfile").read_text().splitlines() if line]

        assert instructions.index("USER") < instructions.index("CMD")
        assert "USER shopcool" in (ROOT / "Dockerfile").read_text()


class Container:
    """Runs a service's own command with its own environment; only the outside addresses are others."""

    def __init__(self, compose: dict[str, Any], addresses: Addresses, data: Path, port: int) -> None:
        self.services = compose["services"]
        self.addresses = addresses
        self.data = data
        self.port = port

    def environment(self, name: str) -> dict[str, str]:
        """Return the environment of a service."""
        named: dict[str, str] = self.services[name]["environment"]
        scripts = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
        # An image holds compiled modules; here they lie where this process keeps them, if it does.
        compiled = {key: value for key, value in os.environ.items() if key == "PYTHONPYCACHEPREFIX"}
        return {
            **compiled,
            **named,
            **self.addresses.environment(),
            "PATH": scripts,
            "HOME": str(self.data),
            "HOSTNAME": socket.gethostname(),
            "SHOPCOOL_DATA": str(self.data),
            "SHOPCOOL_LISTEN": f"127.0.0.1:{self.port}",
            "SHOPCOOL_WEB_WORKERS": "1",
        }

    def placed(self, command: list[str]) -> list[str]:
        """Return a command with this machine's folder and port instead of the container's."""
        here = [part.replace("127.0.0.1:8000", f"127.0.0.1:{self.port}") for part in command]
        return [part.replace("/data", str(self.data)) for part in here]

    def run(self, name: str) -> subprocess.CompletedProcess[str]:
        """Run a service's command to its end."""
        command = self.placed(self.services[name]["command"])
        return subprocess.run(
            command, cwd=ROOT, env=self.environment(name), capture_output=True, text=True, check=False
        )

    @contextmanager
    def started(self, name: str) -> Iterator[subprocess.Popen[bytes]]:
        """Run a service's command for the length of the block."""
        command = self.placed(self.services[name]["command"])
        with (self.data / f"{name}.log").open("wb") as log:
            process = subprocess.Popen(
                command, cwd=ROOT, env=self.environment(name), stdout=log, stderr=subprocess.STDOUT
            )
        try:
            yield process
        finally:
            process.terminate()
            process.wait(timeout=60)

    def is_healthy(self, name: str) -> bool:
        """Say whether a service's own health check succeeds."""
        kind, *test = self.services[name]["healthcheck"]["test"]
        command = ["sh", "-c", test[0]] if kind == "CMD-SHELL" else test
        checked = subprocess.run(
            self.placed(command), cwd=ROOT, env=self.environment(name), capture_output=True, check=False
        )
        return checked.returncode == 0


@pytest.fixture(scope="module")
def container(compose: dict[str, Any], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Container]:
    """The services' commands against servers of their own, migrated by the service that does it."""
    folder = DataFolder(tmp_path_factory.mktemp("servers"))
    supervisor = Supervisor()
    try:
        # Not a throwaway server: the role has the rights of production.
        addresses = Services(folder).start(supervisor)
        with socket.create_server(("127.0.0.1", 0)) as free:
            port = free.getsockname()[1]
        yield Container(compose, addresses, tmp_path_factory.mktemp("data"), port)
    finally:
        supervisor.stop()


@pytest.mark.long
class TestCommands:
    def test_migrate_then_web_worker_and_beat_get_healthy_and_end_when_asked(
        self, container: Container
    ) -> None:
        migrated = container.run("migrate")
        assert migrated.returncode == 0, migrated.stdout + migrated.stderr
        assert "Applying people.0001_initial... OK" in migrated.stdout

        with container.started("web") as web, container.started("worker") as worker:
            # Asked from here until it answers; a health check is a process of its own each time.
            health = f"http://127.0.0.1:{container.port}/health/"
            assert eventually(lambda: network.answers(health), PATIENCE_S), (
                container.data / "web.log"
            ).read_text()
            assert container.is_healthy("web")
            with container.started("beat") as beat:
                assert eventually(lambda: container.is_healthy("beat"), PATIENCE_S)
            assert eventually(lambda: " ready." in (container.data / "worker.log").read_text(), PATIENCE_S)
            assert container.is_healthy("worker")

        assert [process.returncode for process in (web, worker, beat)] == [0, 0, 0]

    def test_an_unanswered_health_check_fails(self, container: Container) -> None:
        assert not container.is_healthy("web")


def test_the_image_starts_the_web_server_as_the_compose_file_does(compose: dict[str, Any]) -> None:
    command = re.findall(r"^CMD (\[.*\])$", (ROOT / "Dockerfile").read_text(), re.MULTILINE)[-1]

    assert shlex.join(yaml.safe_load(command)) == shlex.join(compose["services"]["web"]["command"])
