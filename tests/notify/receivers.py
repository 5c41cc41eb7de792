"""Far ends that tests start on loopback: HTTP, mail, and plain ones that misbehave.

Each is a context manager that gives an object with the address and with what has arrived.
"""

import socket
import ssl
import subprocess
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult, Envelope, LoginPassword, Session


@dataclass(frozen=True, slots=True)
class Certificate:
    """A certificate that nobody signed but itself, for localhost and 127.0.0.1."""

    chain: Path
    key: Path

    def serving(self) -> ssl.SSLContext:
        context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        context.load_cert_chain(self.chain, self.key)
        return context

    def trusting(self) -> ssl.SSLContext:
        """The context of a client that trusts this certificate and no other."""
        return ssl.create_default_context(cafile=str(self.chain))


def self_made_certificate(folder: Path) -> Certificate:
    """Made with the openssl command, valid for two days."""
    made = Certificate(folder / "chain.pem", folder / "key.pem")
    request = [
        "openssl",
        "req",
        "-x509",
        "-newkey",
        "ec",
        "-pkeyopt",
        "ec_paramgen_curve:prime256v1",
        "-nodes",
    ]
    names = ["-days", "2", "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1"]
    use = ["-addext", "keyUsage=critical,digitalSignature,keyCertSign"]
    files = ["-keyout", str(made.key), "-out", str(made.chain)]
    subprocess.run([*request, *names, *use, *files], check=True, capture_output=True)
    return made


@dataclass(frozen=True, slots=True)
class Answer:
    """What an HTTP receiver answers. after_s: how long it thinks first. closes: it hangs up instead."""

    status: int = 200
    headers: Mapping[str, str] = field(default_factory=dict)
    body: bytes = b""
    after_s: float = 0.0
    closes: bool = False


@dataclass(frozen=True, slots=True)
class Received:
    method: str
    path: str
    headers: Mapping[str, str]
    body: bytes


class HttpReceiver:
    """Answers in the order it was told to; the last answer is repeated for ever."""

    def __init__(self, answers: tuple[Answer, ...]) -> None:
        self._answers = list(answers) or [Answer()]
        self._lock = threading.Lock()
        self.received: list[Received] = []
        self.stopping = threading.Event()
        self.port = 0
        self.scheme = "http"

    @property
    def url(self) -> str:
        return f"{self.scheme}://127.0.0.1:{self.port}/hook"

    def then(self, *answers: Answer) -> None:
        """Answer so from now on."""
        with self._lock:
            self._answers = list(answers)

    def take(self, request: Received) -> Answer:
        with self._lock:
            self.received.append(request)
            return self._answers.pop(0) if len(self._answers) > 1 else self._answers[0]


@contextmanager
def http_receiver(*answers: Answer, certificate: Certificate | None = None) -> Iterator[HttpReceiver]:
    """An HTTP server that gives these answers (200 without any); HTTPS with a certificate."""
    receiver = HttpReceiver(answers)
    server = _Server(("127.0.0.1", 0), _handler(receiver))
    if certificate is not None:
        receiver.scheme = "https"
        server.socket = certificate.serving().wrap_socket(
            server.socket, server_side=True, do_handshake_on_connect=False
        )
    receiver.port = server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield receiver
    finally:
        receiver.stopping.set()
        server.shutdown()
        thread.join(5)
        server.server_close()


class _Server(ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A client that hangs up or refuses the certificate is what some tests are about."""


def _handler(receiver: HttpReceiver) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            length = int(self.headers.get("Content-Length") or 0)
            body = self.rfile.read(length)
            answer = receiver.take(Received(self.command, self.path, dict(self.headers.items()), body))
            receiver.stopping.wait(answer.after_s)
            self.close_connection = True
            if answer.closes:
                return
            with suppress(OSError):
                self.send_response(answer.status)
                for name, value in answer.headers.items():
                    self.send_header(name, value)
                self.send_header("Content-Length", str(len(answer.body)))
                self.end_headers()
                self.wfile.write(answer.body)

        do_GET = do_POST  # noqa: N815 - the name http.server looks for

        def log_message(self, format: str, *args: Any) -> None:
            """Silence on the test's output."""

    return Handler


@dataclass(slots=True)
class MailReceiver:
    """A mail server. The refusals are whole answers (``451 4.3.0 Later``), by step; None accepts."""

    port: int
    refuse_sender: str | None = None
    refuse_receivers: dict[str, str] = field(default_factory=dict)
    refuse_text: str | None = None
    user: str = "pi"
    password: str = "correct horse"
    received: list[Envelope] = field(default_factory=list)

    async def handle_MAIL(  # noqa: N802 - the name aiosmtpd looks for
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        if self.refuse_sender is not None:
            return self.refuse_sender
        envelope.mail_from = address
        return "250 2.1.0 OK"

    async def handle_RCPT(  # noqa: N802 - the name aiosmtpd looks for
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        if address in self.refuse_receivers:
            return self.refuse_receivers[address]
        envelope.rcpt_tos.append(address)
        return "250 2.1.5 OK"

    async def handle_DATA(  # noqa: N802 - the name aiosmtpd looks for
        self, server: SMTP, session: Session, envelope: Envelope
    ) -> str:
        if self.refuse_text is not None:
            return self.refuse_text
        self.received.append(envelope)
        return "250 2.0.0 Taken"

    def authenticate(
        self, server: SMTP, session: Session, envelope: Envelope, mechanism: str, given: Any
    ) -> AuthResult:
        right = LoginPassword(self.user.encode(), self.password.encode())
        return AuthResult(success=given == right, handled=False)


@contextmanager
def mail_receiver(
    *, starttls: Certificate | None = None, tls: Certificate | None = None, login: bool = False
) -> Iterator[MailReceiver]:
    """A real SMTP server; with STARTTLS required or TLS from the first byte, and a login if wanted."""
    receiver = MailReceiver(port=_free_port())
    controller = Controller(
        receiver,
        hostname="127.0.0.1",
        port=receiver.port,
        ssl_context=tls.serving() if tls is not None else None,
        tls_context=starttls.serving() if starttls is not None else None,
        require_starttls=starttls is not None,
        authenticator=receiver.authenticate if login else None,
        auth_required=login,
    )
    controller.start()
    try:
        yield receiver
    finally:
        controller.stop()


@contextmanager
def plain_receiver(behave: Callable[[socket.socket, threading.Event], None]) -> Iterator[int]:
    """A TCP server that does to each connection what it is told; gives its port.

    behave gets the connection and an event that is set when the test is over.
    """
    over = threading.Event()
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.05)

        def serve() -> None:
            while not over.is_set():
                try:
                    connection, _ = server.accept()
                except TimeoutError:
                    continue
                except OSError:
                    return
                threading.Thread(target=one, args=(connection,), daemon=True).start()

        def one(connection: socket.socket) -> None:
            connection.settimeout(None)
            with connection, suppress(OSError):
                behave(connection, over)

        thread = threading.Thread(target=serve, daemon=True)
        thread.start()
        try:
            yield int(server.getsockname()[1])
        finally:
            over.set()
            thread.join(5)


def says_nothing(connection: socket.socket, over: threading.Event) -> None:
    """Accepts, and leaves the caller waiting."""
    over.wait(30)


def hangs_up(connection: socket.socket, over: threading.Event) -> None:
    """Accepts and closes at once."""


def drips(connection: socket.socket, over: threading.Event) -> None:
    """Sends a header that never ends, a byte at a time, so that no single wait is long."""
    connection.sendall(b"HTTP/1.1 200 OK\r\nX-Slow: ")
    until = time.monotonic() + 30
    while not over.wait(0.05) and time.monotonic() < until:
        connection.sendall(b".")


def speaks_no_tls(connection: socket.socket, over: threading.Event) -> None:
    """Answers a TLS greeting with words."""
    connection.recv(64)
    connection.sendall(b"this is not TLS\r\n" * 4)


def a_port_nobody_listens_on() -> int:
    """A port that was free a moment ago."""
    return _free_port()


def _free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as server:
        return int(server.getsockname()[1])
