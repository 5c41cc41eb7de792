"""A small reverse proxy: takes a path off or leaves it on, and says who asked, as proxies do."""

import http.client
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

HOP_BY_HOP = {"connection", "keep-alive", "transfer-encoding", "te", "upgrade", "host"}


@contextmanager
def proxy_to(port: int, prefix: str, keeps_prefix: bool, scheme: str = "https") -> Iterator[str]:
    """Serves what answers on `port` under `prefix`; gives the proxy's own address on loopback.

    scheme: what it says it was asked by, as if it ended TLS.
    """

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def _forward(self) -> None:
            if not (self.path == prefix or self.path.startswith(f"{prefix}/")):
                self.send_error(404)
                return
            path = self.path if keeps_prefix else self.path[len(prefix) :] or "/"
            body = self.rfile.read(int(self.headers.get("content-length", 0)))
            there = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
            said = {"x-forwarded-for", "x-forwarded-proto", "x-forwarded-host"}
            headers = {k: v for k, v in self.headers.items() if k.lower() not in HOP_BY_HOP | said} | {
                "Host": f"127.0.0.1:{port}",
                "X-Forwarded-For": "203.0.113.9",
                "X-Forwarded-Proto": scheme,
                "X-Forwarded-Host": self.headers["Host"],
            }
            try:
                there.request(self.command, path, body, headers)
                answer = there.getresponse()
                self.send_response(answer.status)
                for name, value in answer.getheaders():
                    if name.lower() not in HOP_BY_HOP:
                        self.send_header(name, value)
                self.send_header("Connection", "close")
                self.end_headers()
                while piece := answer.read1(65536):
                    self.wfile.write(piece)
                    self.wfile.flush()
            except (ConnectionError, TimeoutError):
                pass
            finally:
                self.close_connection = True
                there.close()

        do_GET = do_POST = do_PUT = do_PATCH = do_DELETE = _forward  # noqa: N815 - named by the library

        def log_message(self, *_: object) -> None:
            """Nothing is logged."""

    class Server(ThreadingHTTPServer):
        daemon_threads = True

        def handle_error(self, *_: object) -> None:
            """A client that went away is no matter."""

    server = Server(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
