"""``make run``: the whole shop on this machine until somebody stops it."""

from __future__ import annotations

import socket
import time
from pathlib import Path

from shopcool.standalone import network, programs
from shopcool.standalone.children import Child, Program
from shopcool.standalone.errors import StopRequested
from shopcool.standalone.folder import DataFolder, RunningState, data_folder
from shopcool.standalone.parent import Parent
from shopcool.standalone.services import services_of
from shopcool.standalone.supervisor import Supervisor
from shopcool.standalone.terminal import say

READY_TIMEOUT_S = 180.0


def run(arguments: list[str]) -> int:
    """Run the shop until somebody stops it and return the exit status."""
    started = time.monotonic()
    parent = Parent()
    parent.follow()
    folder = data_folder()
    supervisor = Supervisor(is_over=parent.was_interrupted)
    supervisor.listen()
    with folder.claim() as state:
        return Shop(folder, supervisor, state).run(started)


class Shop:
    """One run of the shop on its data folder."""

    def __init__(self, folder: DataFolder, supervisor: Supervisor, state: RunningState) -> None:
        self.folder = folder
        self.supervisor = supervisor
        self.state = state
        self.clients: list[Child] = []

    def run(self, started: float) -> int:
        """Start everything, keep it alive, and stop it in order whatever happens."""
        try:
            with network.open_socket() as listening:
                self._start(listening)
                self._say_ready(listening, time.monotonic() - started)
                self.supervisor.watch()
        except StopRequested:
            # Asked for while still starting: nothing more to do than to stop.
            pass
        finally:
            say("Stopping")
            # The database and the broker go last: the others still write.
            self.supervisor.stop(self.clients)
        say("Everything is stopped. The data is kept in " + str(self.folder.path))
        return 0

    def _start(self, listening: socket.socket) -> None:
        addresses = services_of(self.folder).start(self.supervisor)
        hosts = network.allowed_hosts(listening)
        environment = programs.application_environment(self.folder, addresses.environment(), hosts)
        self.supervisor.run_once(programs.preparation(self.folder, environment, self._sign_ins))
        say("Starting web server, worker and beat")
        web = self._start_client(programs.web(self.folder, environment, listening.fileno()))
        self._start_client(programs.worker(self.folder, environment))
        health = network.address(listening) + "health/"
        self.supervisor.wait_until(lambda: network.answers(health), web, READY_TIMEOUT_S)
        # Nothing waits for the clock, so it does not take time from what a person waits for.
        self._start_client(programs.beat(self.folder, environment))

    def _start_client(self, program: Program) -> Child:
        client = self.supervisor.start(program)
        self.clients.append(client)
        return client

    @property
    def _sign_ins(self) -> Path:
        return self.folder.path / "demo-sign-ins.txt"

    def _say_ready(self, listening: socket.socket, seconds: float) -> None:
        address = network.address(listening)
        self.state.write(address)
        say("")
        say(f"Shopcool is ready after {seconds:.1f} s: {address}")
        if sign_ins := self._sign_ins.read_text().strip():
            say("")
            say(sign_ins)
        say("")
        say(f"Logs are in {self.folder.logs}. Ctrl-C stops everything.")
