"""A mail server of a test: it speaks just enough SMTP (RFC 5321), and can fall silent at the worst moment."""

from __future__ import annotations

import socketserver
from collections.abc import Iterator
from contextlib import contextmanager
from email import message_from_bytes
from threading import Event, Thread
from typing import cast


class MailServer(socketserver.ThreadingTCPServer):
    """Keeps what it accepted. While ``answers`` is not set, it never says that it has a mail."""

    daemon_threads = True
    allow_reuse_address = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Session)
        self.attempted: list[str] = []
        self.accepted: list[str] = []
        self.answers = Event()
        self.answers.set()

    @property
    def url(self) -> str:
        """Its address as SHOPCOOL_EMAIL_URL."""
        return f"smtp://127.0.0.1:{self.server_address[1]}?tls=no"


class _Session(socketserver.StreamRequestHandler):
    """One client: every command is fine, DATA is read to its end."""

    def handle(self) -> None:
        """Speak until the client leaves."""
        self._say("220 mail.example ready")
        for line in self.rfile:
            command = line.strip().upper().decode()
            if command == "DATA":
                self._say("354 go on")
                self._take()
            elif command == "QUIT":
                self._say("221 bye")
                return
            else:
                self._say("250 fine")

    def _take(self) -> None:
        lines = []
        while (line := self.rfile.readline()) != b".\r\n":
            lines.append(line)
        server = cast(MailServer, self.server)
        number = str(message_from_bytes(b"".join(lines))["Message-ID"])
        server.attempted.append(number)
        if server.answers.is_set():
            server.accepted.append(number)
            self._say("250 accepted")
        else:
            self.rfile.readline()

    def _say(self, line: str) -> None:
        self.wfile.write(f"{line}\r\n".encode())


@contextmanager
def mail_server() -> Iterator[MailServer]:
    """Run a mail server on a free port."""
    with MailServer() as server:
        thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
        thread.start()
        yield server
        server.shutdown()
        thread.join()
