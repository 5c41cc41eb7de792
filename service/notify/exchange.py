"""One HTTP request and its answer, in bounded time, with failures said in plain words."""

import ssl
import time
from dataclasses import dataclass
from urllib.parse import urlsplit

from service.notify.bounded import Patience, within
from service.notify.envelope import SendFailedError
from service.notify.masking import hide, one_line, secrets_in
from service.notify.quiet import silence_libraries
from service.notify.small_httpx import httpx
from service.version import __version__

MOST_BODY = 4096
"""Bytes of an answer that are read; the rest is of no use to a person."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What the far end answered. words: status and reason, and for a refusal its text, masked and short."""

    status: int
    words: str
    retry_after: str | None
    location: str | None
    took_ms: int


class Exchanger:
    """Asks one address at a time over a connection of its own.

    No redirect is followed, certificates are checked against the system's, and neither proxies nor
    passwords are taken from the environment.
    """

    def __init__(
        self, url: str, patience: Patience, tls: ssl.SSLContext | None, secrets: frozenset[str]
    ) -> None:
        silence_libraries()
        self._url = url
        self._who = urlsplit(url).netloc.rpartition("@")[2]
        self._patience = patience
        self._secrets = secrets | secrets_in(url)
        self._client = httpx.Client(
            verify=tls if tls is not None else ssl.create_default_context(),
            timeout=patience.step_s,
            follow_redirects=False,
            trust_env=False,
            limits=httpx.Limits(max_keepalive_connections=0),
            headers={"User-Agent": f"gylewatch/{__version__}"},
        )

    @property
    def who(self) -> str:
        """Host and port, as sentences name the far end."""
        return self._who

    def ask(self, method: str, content: bytes | None, headers: dict[str, str]) -> Answer:
        """Send one request. Raises SendFailedError when no answer came; any status is one."""
        return within(self._patience.whole_s, self._who, lambda: self._ask(method, content, headers))

    def close(self) -> None:
        """Close the client."""
        self._client.close()

    def _ask(self, method: str, content: bytes | None, headers: dict[str, str]) -> Answer:
        began = time.monotonic()
        try:
            with self._client.stream(method, self._url, content=content, headers=headers) as response:
                body = "" if response.is_success else self._text(response, began)
                words = hide(f"{response.status_code} {response.reason_phrase}", self._secrets)
                return Answer(
                    status=response.status_code,
                    words=f"{words}: {body}" if body else words,
                    retry_after=response.headers.get("Retry-After"),
                    location=response.headers.get("Location"),
                    took_ms=round((time.monotonic() - began) * 1000),
                )
        except httpx.HTTPError as error:
            raise SendFailedError(self._sentence(error), transient=True) from None

    def _text(self, response: httpx.Response, began: float) -> str:
        """The start of a refusal's text; what cannot be read of it does not matter."""
        kind = response.headers.get("Content-Type", "")
        if not kind.startswith(("text/plain", "application/json", "application/problem+json")):
            return ""
        read = b""
        try:
            for piece in response.iter_bytes():
                read += piece
                if len(read) >= MOST_BODY or time.monotonic() - began > self._patience.step_s:
                    break
        except httpx.HTTPError:
            return hide(read.decode("utf-8", "replace"), self._secrets)
        return hide(read.decode("utf-8", "replace"), self._secrets)

    def _sentence(self, error: httpx.HTTPError) -> str:
        if isinstance(error, httpx.TimeoutException):
            return f"{self._who} did not answer within {self._patience.step_s:g} s."
        said = hide(str(error), self._secrets)
        if isinstance(error, httpx.ConnectError):
            if "certificate verify failed" in said.lower():
                return f"The certificate of {self._who} is not to be trusted: {said}"
            return f"There is no connection to {self._who}: {said}"
        return one_line(f"The connection to {self._who} broke before an answer came: {said}")


def is_permanent(status: int) -> bool:
    """Whether a status that is no success will stay so (RFC 9110, 15).

    Transient: server errors that do not mean "never" (501, 505), redirects for now, and of the client
    errors 404 (which "does not indicate whether this lack is temporary or permanent"), 408, 409, 421,
    423, 425 and 429. Every other client error, known or not, and a move for good are permanent.
    """
    if 400 <= status < 500:
        return status not in {404, 408, 409, 421, 423, 425, 429}
    return status in {301, 308, 501, 505}
