"""Every other way to a person, through the apprise library when it is installed."""

import importlib
import logging
import time
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC
from types import ModuleType
from typing import Any

from service.errors import InvalidInputError, Problem
from service.notify.bounded import Patience, within
from service.notify.channel_config import AppriseConfig, nearest
from service.notify.envelope import UNCLEAR_FOR, Delivered, Envelope, SendFailedError
from service.notify.masking import hide, secrets_in
from service.notify.quiet import silence_libraries

_listener: ContextVar[object] = ContextVar("apprise_listener", default=None)


def load_apprise() -> ModuleType:
    """The library, loaded when the first such channel is made: it takes its time and its memory."""
    return importlib.import_module("apprise")


class AppriseChannel:
    """Sends through one service of the apprise library.

    The library says only whether it worked, so a failure is tried again for 24 hours; what it logs about
    a message is taken for the far end's words.
    """

    kind = "apprise"

    def __init__(
        self, config: AppriseConfig, *, patience: Patience, load: Callable[[], ModuleType] = load_apprise
    ) -> None:
        """Raises InvalidInputError when the library is missing or does not understand the address."""
        silence_libraries()
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore", DeprecationWarning)
                library = load()
        except ImportError:
            raise InvalidInputError(
                Problem(
                    "/kind",
                    "the apprise library is not installed",
                    "Install gylewatch with its extra apprise.",
                )
            ) from None
        self._secrets = secrets_in(config.url, with_host=True)
        self._who = config.url.partition("://")[0].lower()
        self._patience = patience
        with self._overheard() as words, warnings.catch_warnings():
            # What the library's own parts say of each other while they are loaded is not for our users.
            warnings.simplefilter("ignore", DeprecationWarning)
            self._sender = _sender(library, config.url, self._who)
        if self._sender is None:
            said = hide(" ".join(words), self._secrets)
            problem = f"apprise cannot use this address of {self._who}://"
            raise InvalidInputError(
                Problem(
                    "/url",
                    f"{problem} ({said})" if said else problem,
                    "See what apprise says about this service.",
                )
            )
        self._library = library

    def send(self, envelope: Envelope) -> Delivered:
        """Hand it to the library and wait for its yes. Raises SendFailedError."""
        try:
            return within(self._patience.whole_s, f"{self._who}://", lambda: self._send(envelope))
        except SendFailedError as error:
            error.keep_trying_for = min(error.keep_trying_for, UNCLEAR_FOR)
            raise

    def close(self) -> None:
        """Nothing is held between messages."""

    def _send(self, envelope: Envelope) -> Delivered:
        began = time.monotonic()
        written = envelope.at.astimezone(UTC).strftime("%Y-%m-%d %H:%M UTC")
        with self._overheard() as lines:
            accepted = self._sender.notify(
                title=envelope.title,
                body=f"{envelope.text}\n\nWritten {written}",
                body_format=self._library.NotifyFormat.TEXT,
                notify_type=self._library.NotifyType.WARNING,
            )
        words = hide(" ".join(lines), self._secrets)
        if not accepted:
            said = words or "it gave no reason"
            raise SendFailedError(
                f"{self._who}:// did not take the message: {said}", transient=True, far_end=words
            )
        return Delivered(words or "accepted", round((time.monotonic() - began) * 1000))

    @contextmanager
    def _overheard(self) -> Iterator[list[str]]:
        """What the library logs meanwhile on behalf of this call, and not of another channel's."""
        mark, lines = object(), list[str]()
        handler = _Overhearing(mark, lines)
        logger = logging.getLogger("apprise")
        logger.addHandler(handler)
        token = _listener.set(mark)
        try:
            yield lines
        finally:
            _listener.reset(token)
            logger.removeHandler(handler)


class _Overhearing(logging.Handler):
    """Keeps the lines that are logged in the context that carries the mark, less mere routine."""

    def __init__(self, mark: object, lines: list[str]) -> None:
        super().__init__(logging.INFO)
        self._mark = mark
        self._lines = lines

    def emit(self, record: logging.LogRecord) -> None:
        routine = record.levelno == logging.INFO and record.module == "apprise"
        if _listener.get() is self._mark and not routine:
            self._lines.append(record.getMessage())


def _sender(library: Any, url: str, scheme: str) -> Any:
    """The library's sender for this address, or None when it makes no sense of it."""
    known = {str(s) for service in library.Apprise().details()["schemas"] for s in _schemes(service)}
    if scheme not in known:
        raise InvalidInputError(
            Problem(
                "/url",
                f"apprise knows no service {scheme}://",
                nearest(scheme, sorted(known), "See its list."),
            )
        )
    asset = library.AppriseAsset(secure_logging=True, storage_mode=library.PersistentStoreMode.MEMORY)
    service = library.Apprise.instantiate(url, asset=asset)
    if service is None:
        return None
    service.overflow_mode = library.OverflowMode.SPLIT
    sender = library.Apprise(asset=asset)
    sender.add(service)
    return sender


def _schemes(service: dict[str, Any]) -> list[str]:
    return [*(service["protocols"] or ()), *(service["secure_protocols"] or ())]
