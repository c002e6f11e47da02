"""The shop finds a free port, or says which one is taken."""

from __future__ import annotations

import socket
from collections.abc import Iterator

import pytest

from shopcool.standalone import network
from shopcool.standalone.errors import CannotStart


@pytest.fixture
def taken(monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """A port on loopback at which another program listens."""
    monkeypatch.delenv("SHOPCOOL_BIND", raising=False)
    monkeypatch.delenv("SHOPCOOL_PORT", raising=False)
    with socket.create_server(("127.0.0.1", 0)) as other:
        yield other.getsockname()[1]


class TestOpenSocket:
    def test_takes_the_next_port_when_the_usual_one_is_taken(
        self, taken: int, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(network, "USUAL_PORT", taken)

        with network.open_socket() as opened:
            assert taken < opened.getsockname()[1] < taken + network.PORTS_TRIED

    def test_a_port_that_was_asked_for_is_never_replaced(
        self, taken: int, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("SHOPCOOL_PORT", str(taken))

        with pytest.raises(CannotStart, match=f"Port {taken} is taken by another program"):
            network.open_socket()

    @pytest.mark.parametrize("text", ["0", "65536", "80a", "-1", "8000.0"])
    def test_what_is_no_port_is_refused(self, text: str, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("SHOPCOOL_PORT", text)

        with pytest.raises(CannotStart, match="number from 1 to 65535"):
            network.open_socket()

    def test_an_address_of_another_machine_is_refused(
        self, taken: int, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        # TEST-NET-1 of RFC 5737: an address that no machine has.
        monkeypatch.setenv("SHOPCOOL_BIND", "192.0.2.1")

        with pytest.raises(CannotStart, match=r"can't answer at 192\.0\.2\.1"):
            network.open_socket()


class TestNames:
    def test_on_loopback_only_this_machine_may_ask(self, taken: int, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(network, "USUAL_PORT", taken)
        with network.open_socket() as opened:
            port = opened.getsockname()[1]

            assert network.allowed_hosts(opened) == "localhost,127.0.0.1,[::1]"
            assert network.address(opened) == f"http://localhost:{port}/"

    def test_for_the_workshop_the_machine_s_name_and_addresses_are_added(
        self, taken: int, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(network, "USUAL_PORT", taken + 1)
        monkeypatch.setattr(network, "machine_addresses", lambda: ["198.51.100.7"])
        monkeypatch.setattr("socket.gethostname", lambda: "bay")
        monkeypatch.setenv("SHOPCOOL_BIND", "0.0.0.0")
        with network.open_socket() as opened:
            assert network.allowed_hosts(opened) == "localhost,127.0.0.1,[::1],bay,bay.local,198.51.100.7"


class TestAnswers:
    def test_a_closed_port_does_not_answer(self) -> None:
        with socket.create_server(("127.0.0.1", 0)) as server:
            port = server.getsockname()[1]

        assert not network.answers(f"http://127.0.0.1:{port}/health/")
