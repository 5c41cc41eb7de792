"""Links that acknowledge one alarm from a message: where they lead, their key, and what they carry."""

import secrets
from collections.abc import Callable
from datetime import datetime, timedelta
from ipaddress import ip_address
from urllib.parse import urlsplit

from sqlalchemy import Connection

from service.notify.links import read, sign
from service.record.marks import read_mark, set_mark

KEY_MARK = "link-key"
KEY_BYTES = 32
LASTS = timedelta(days=7)
"""Longer than any alarm is reminded of, and each reminder brings a fresh link."""

PATH = "/acknowledge"


def base_of_links(page_url: str | None, listens_at: str) -> str | None:
    """Where links in messages lead: to the address that was given for the page, or to where it is served.

    None when only this machine could open that: on a phone such a link would lead to the phone itself.
    """
    if page_url is not None:
        return page_url
    host = urlsplit(listens_at).hostname or ""
    if host == "localhost":
        return None
    try:
        address = ip_address(host)
    except ValueError:
        return listens_at
    return None if address.is_loopback or address.is_unspecified else listens_at


def the_key(connection: Connection, fresh: Callable[[int], bytes] = secrets.token_bytes) -> bytes:
    """The key that signs links: made once, kept in the record, shown nowhere."""
    kept = read_mark(connection, KEY_MARK)
    if kept is None:
        kept = fresh(KEY_BYTES).hex()
        set_mark(connection, KEY_MARK, kept)
    return bytes.fromhex(kept)


def link_to(base: str, alarm_id: int, channel_id: str, key: bytes, now: datetime) -> str:
    """The link for one alarm, as it goes out on one channel."""
    token = sign(f"a-{alarm_id} {channel_id}", now + LASTS, key)
    return f"{base.rstrip('/')}{PATH}/{token}"


def read_link(token: str, key: bytes, now: datetime) -> tuple[str, str]:
    """The alarm's id and the channel of a token; LinkForgedError or LinkExpiredError."""
    alarm_id, _, channel_id = read(token, key, now).partition(" ")
    return alarm_id, channel_id
