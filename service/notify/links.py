"""Links that acknowledge one alarm, signed, with an end. Opening one does nothing: its page has a button."""

import base64
import hashlib
import hmac
import re
from datetime import UTC, datetime

from service.errors import GylewatchError

SHORTEST_KEY = 32
"""Bytes: the length of the hash's output (RFC 2104, 3)."""

_PURPOSE = b"gylewatch acknowledge link 1\n"


class LinkForgedError(GylewatchError):
    """The link was not made by this gylewatch, or was changed on the way."""


class LinkExpiredError(GylewatchError):
    """The link is too old. The alarm can be acknowledged on the page. expired_at: when it ended."""

    def __init__(self, expired_at: datetime) -> None:
        super().__init__(f"This link ended at {expired_at:%Y-%m-%d %H:%M} UTC. Open the page to acknowledge.")
        self.expired_at = expired_at


def sign(alarm_id: str, expires_at: datetime, key: bytes) -> str:
    """A token for a URL: which alarm, until when (aware; kept to the second), and HMAC-SHA256 over both.

    key: at least 32 random bytes that stay here. Raises ValueError for a short key or a naive time.
    """
    if expires_at.tzinfo is None:
        raise ValueError("the end of a link needs a time zone")
    said = f"{int(expires_at.timestamp())} {alarm_id}"
    body = base64.urlsafe_b64encode(said.encode()).decode().rstrip("=")
    return f"{body}.{_mac(body, key)}"


def read(token: str, key: bytes, now: datetime) -> str:
    """The id of the alarm that the token acknowledges.

    Raises LinkForgedError, or LinkExpiredError from its end on (now: aware UTC).
    """
    body, _, mac = token.partition(".")
    if not re.fullmatch(r"[A-Za-z0-9_-]+", body) or not mac.isascii():
        raise LinkForgedError(
            "This link is not complete, or was not made here. Open the page to acknowledge."
        )
    if not hmac.compare_digest(mac, _mac(body, key)):
        raise LinkForgedError("This link was changed, or was not made here. Open the page to acknowledge.")
    seconds, _, alarm_id = _decoded(body).partition(" ")
    expires_at = datetime.fromtimestamp(int(seconds), UTC)
    if now >= expires_at:
        raise LinkExpiredError(expires_at)
    return alarm_id


def _decoded(body: str) -> str:
    return base64.urlsafe_b64decode(body + "=" * (-len(body) % 4)).decode()


def _mac(body: str, key: bytes) -> str:
    if len(key) < SHORTEST_KEY:
        raise ValueError(f"the key must have at least {SHORTEST_KEY} bytes")
    mac = hmac.new(key, _PURPOSE + body.encode("ascii"), hashlib.sha256).digest()
    return base64.urlsafe_b64encode(mac).decode().rstrip("=")
