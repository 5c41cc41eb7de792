"""From the JSON of a channel to a channel, and back to what may be shown of it."""

import ssl
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from types import ModuleType

from service.errors import InvalidInputError, Problem
from service.notify.bounded import Patience
from service.notify.channel_config import (
    AppriseConfig,
    ChannelConfig,
    Json,
    MailConfig,
    Security,
    WebhookConfig,
    config_from,
)
from service.notify.channels.apprise import AppriseChannel, load_apprise
from service.notify.channels.channel import Channel
from service.notify.channels.mail import MailChannel
from service.notify.channels.webhook import WebhookChannel
from service.notify.masking import HIDDEN, masked_address, masked_scheme

__all__ = [
    "AppriseConfig",
    "ChannelConfig",
    "MailConfig",
    "Security",
    "WebhookConfig",
    "channel_from",
    "config_from",
    "masked",
    "merge_secrets",
]

SECRETS = {"webhook": ("url", "secret"), "mail": ("password",), "apprise": ("url",)}
"""The members of each kind that are secret, wholly or in part."""


def _wall_clock() -> datetime:
    return datetime.now(UTC)


def channel_from(
    given: Json,
    *,
    patience: Patience = Patience(),  # noqa: B008 - frozen
    now: Callable[[], datetime] = _wall_clock,
    tls: ssl.SSLContext | None = None,
    load: Callable[[], ModuleType] = load_apprise,
) -> Channel:
    """The channel that `given` describes: `kind` and the members of that kind, nothing else.

    patience: the time-outs. now: the wall clock (aware UTC) for signatures. tls: whom to trust, the
    system's authorities unless given; apprise brings its own. load: gives the apprise library.
    Raises InvalidInputError that names each wrong field and its remedy.
    """
    match config_from(given):
        case WebhookConfig() as config:
            return WebhookChannel(config, now=now, patience=patience, tls=tls)
        case MailConfig() as config:
            return MailChannel(config, patience=patience, tls=tls)
        case AppriseConfig() as config:
            return AppriseChannel(config, patience=patience, load=load)


def masked(given: Json) -> dict[str, object]:
    """What may be shown of a configuration: every member, secrets as ``***``, addresses up to the host."""
    kind = str(given.get("kind"))
    shown = dict(given)
    for name in SECRETS.get(kind, tuple(given)):
        value = given.get(name)
        if value is not None:
            shown[name] = _masked_member(kind, name, value)
    return shown


def _masked_member(kind: str, name: str, value: object) -> str:
    if name == "url" and isinstance(value, str):
        return masked_scheme(value) if kind == "apprise" else masked_address(value)
    return HIDDEN


def merge_secrets(old: Json, new: Json) -> dict[str, object]:
    """The new configuration, with the old one's secrets where the new one leaves them out or masked.

    A secret given as null is cleared. A mail password must be given again when it would go to another
    server, or unprotected: whoever may change a channel must not learn its password that way. Raises
    InvalidInputError for that, and for an address that was edited around its mask.
    """
    merged = dict(new)
    kind = new.get("kind", old.get("kind"))
    kept = False
    if kind == old.get("kind"):
        shown = masked(old)
        for name in SECRETS.get(str(kind), ()):
            if old.get(name) is not None and (name not in new or new[name] == shown[name]):
                merged[name] = old[name]
                kept = kept or name == "password"
    _refuse_masks(merged, old)
    if kept and _goes_elsewhere(old, new):
        raise InvalidInputError(
            Problem(
                "/password", "must be given again, as the server or its security changes", "Give it again."
            )
        )
    return merged


def _goes_elsewhere(old: Json, new: Mapping[str, object]) -> bool:
    other = any(name in new and new[name] != old.get(name) for name in ("host", "port"))
    return other or new.get("security", old.get("security")) != old.get("security")


def _refuse_masks(merged: Json, old: Json) -> None:
    for name in ("url", "secret", "password"):
        value = merged.get(name)
        if isinstance(value, str) and HIDDEN in value and value != old.get(name):
            raise InvalidInputError(
                Problem(f"/{name}", "still holds the mask of the old one", f"Give the whole {name} again.")
            )
