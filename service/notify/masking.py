"""Keeping secrets out of every word that is shown, stored or logged."""

import base64
import re
from collections.abc import Iterable
from urllib.parse import quote, quote_plus, unquote, unquote_plus, urlsplit

HIDDEN = "***"
SHORTEST_SECRET = 4
"""Shorter pieces are left in texts: hiding every "a" would leave nothing to read."""

LONGEST_WORDS = 240

_URL = re.compile(r"\b([a-z][a-z0-9+.-]*)://[^\s\"'<>]+", re.IGNORECASE)
_ADDRESS = re.compile(r"[^:/?#]*://(?P<authority>[^/?#]*)(?P<rest>.*)", re.DOTALL)
_BETWEEN = re.compile(r"[/?#&=@:]")
_UNPRINTABLE = re.compile(r"[^\x20-\x7e\xa0-\uffff\U00010000-\U0010ffff]+")


def one_line(text: str) -> str:
    """The text on one line without control characters, at most 240 characters long."""
    flat = " ".join(_UNPRINTABLE.sub(" ", text).split())
    return flat if len(flat) <= LONGEST_WORDS else flat[: LONGEST_WORDS - 3] + "..."


def hide(text: str, secrets: Iterable[str]) -> str:
    """One line of the far end's words, without the secrets in any of their usual spellings.

    Addresses (``scheme://…``) lose everything after the scheme, since any part of one can be a secret.
    """
    spellings = {s for secret in secrets for s in _spellings(secret) if len(s) >= SHORTEST_SECRET}
    for spelling in sorted(spellings, key=len, reverse=True):
        text = text.replace(spelling, HIDDEN)
    return one_line(_URL.sub(rf"\1://{HIDDEN}", text))


def _spellings(secret: str) -> set[str]:
    raw = secret.encode("utf-8", "surrogatepass")
    encoded = {base64.b64encode(raw).decode(), base64.urlsafe_b64encode(raw).decode()}
    quoted = {quote(raw, safe=""), quote_plus(raw), unquote(secret), unquote_plus(secret)}
    return {secret} | quoted | encoded | {text.rstrip("=") for text in encoded}


def secrets_in(url: str, *, with_host: bool = False) -> frozenset[str]:
    """Every piece of an address that may be secret: user, password, path, query, fragment.

    with_host: also the host, where some services carry a token.
    """
    found = _ADDRESS.match(url)
    if found is None:
        return frozenset({url}) if url else frozenset()
    user, _, host = found["authority"].rpartition("@")
    pieces = _BETWEEN.split(f"{user}/{found['rest']}/{host if with_host else ''}")
    return frozenset(piece for piece in pieces if piece)


def masked_address(url: str) -> str:
    """A web address as it may be shown: scheme, host and port; the rest is hidden, tokens live there."""
    try:
        parts = urlsplit(url)
        host, port = parts.hostname, parts.port
    except ValueError:
        return HIDDEN
    if not parts.scheme or not host:
        return HIDDEN
    place = f"[{host}]" if ":" in host else host
    user = f"{HIDDEN}@" if "@" in parts.netloc else ""
    rest = f"/{HIDDEN}" if parts.path not in ("", "/") or parts.query or parts.fragment else parts.path
    return f"{parts.scheme}://{user}{place}{f':{port}' if port is not None else ''}{rest}"


def masked_scheme(url: str) -> str:
    """An address of which only the scheme may be shown, since even the host can be a token."""
    scheme, found, _ = url.partition("://")
    return f"{scheme}://{HIDDEN}" if found else HIDDEN
