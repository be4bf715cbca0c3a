"""Real receivers on the loopback: an HTTP server that remembers what it got, and an SMTP server."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session

from tests.processes import free_port


@dataclass(frozen=True)
class Request:
    """A request as it arrived; what an independent verifier of signatures reads."""

    method: str
    url: str
    headers: dict[str, str]
    body: bytes


@dataclass
class Receiver:
    """`answers(request)` gives the status; it may block. `Location` goes out with every redirect."""

    address: str
    answers: Callable[[Request], int] = lambda _request: 204
    got: list[Request] = field(default_factory=list)
    location: str = "http://127.0.0.1:9/elsewhere"


@contextmanager
def open_receiver() -> Iterator[Receiver]:
    receiver = Receiver("")

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self._take()

        def do_POST(self) -> None:
            self._take()

        def log_message(self, format: str, *args: Any) -> None:  # noqa: A002, ANN401 (the library's signature)
            pass

        def _take(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
            request = Request(self.command, receiver.address + self.path, dict(self.headers.items()), body)
            receiver.got.append(request)
            status = receiver.answers(request)
            self.send_response(status)
            if 300 <= status < 400:
                self.send_header("Location", receiver.location)
            self.send_header("Content-Length", "0")
            self.end_headers()

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    receiver.address = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05})
    thread.start()
    try:
        yield receiver
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


@dataclass
class Mailbox:
    """Mail that arrived; `refusal` is an answer of RFC 5321 given in place of taking it."""

    port: int = 0
    refusal: str | None = None
    got: list[tuple[list[str], EmailMessage]] = field(default_factory=list)

    async def handle_DATA(self, _server: SMTP, _session: Session, envelope: Envelope) -> str:  # noqa: N802 (aiosmtpd's)
        if self.refusal is not None:
            return self.refusal
        parsed = message_from_bytes(envelope.content or b"", policy=policy.default)  # type: ignore[arg-type]
        assert isinstance(parsed, EmailMessage)
        self.got.append((envelope.rcpt_tos, parsed))
        return "250 taken"


@contextmanager
def open_mailbox() -> Iterator[Mailbox]:
    mailbox = Mailbox()
    controller = Controller(mailbox, hostname="127.0.0.1", port=free_port())
    controller.start()
    mailbox.port = controller.port
    try:
        yield mailbox
    finally:
        controller.stop()
