"""A message as a JSON body, posted to an address of the user's."""

import hashlib
import hmac
import json
import ssl
from collections.abc import Callable
from datetime import datetime
from urllib.parse import urlsplit

from service.notify.bounded import Patience
from service.notify.channel_config import WebhookConfig
from service.notify.envelope import Delivered, Envelope, SendFailedError, payload
from service.notify.exchange import Answer, Exchanger, is_permanent
from service.notify.retry_after import retry_after_s

SIGNATURE_HEADER = "Gylewatch-Signature"
TIMESTAMP_HEADER = "Gylewatch-Timestamp"


def signature(secret: str, timestamp: str, body: bytes) -> str:
    """What the signature header says: HMAC-SHA256 (RFC 2104), in hex, over timestamp, a full stop, body.

    timestamp: the other header, seconds since 1970 as digits. The receiver computes the same, compares in
    constant time, and refuses what is older than it likes.
    """
    mac = hmac.new(secret.encode(), timestamp.encode("ascii") + b"." + body, hashlib.sha256)
    return mac.hexdigest()


class WebhookChannel:
    """Posts messages to one address. now: the wall clock, for the signature and for dates to wait for."""

    kind = "webhook"

    def __init__(
        self,
        config: WebhookConfig,
        *,
        now: Callable[[], datetime],
        patience: Patience,
        tls: ssl.SSLContext | None = None,
    ) -> None:
        self._secret = config.secret
        self._now = now
        hidden = frozenset({config.secret}) if config.secret else frozenset[str]()
        self._exchanger = Exchanger(config.url, patience, tls, hidden)

    def send(self, envelope: Envelope) -> Delivered:
        """Post it; any 2xx is a yes. Raises SendFailedError."""
        try:
            body = json.dumps(payload(envelope), separators=(",", ":"), allow_nan=False).encode()
        except (TypeError, ValueError):
            raise SendFailedError(
                f"Message {envelope.id} cannot be written as JSON.", transient=False
            ) from None
        headers = {"Content-Type": "application/json", "Idempotency-Key": envelope.id}
        if self._secret:
            headers[TIMESTAMP_HEADER] = str(int(self._now().timestamp()))
            headers[SIGNATURE_HEADER] = signature(self._secret, headers[TIMESTAMP_HEADER], body)
        answer = self._exchanger.ask("POST", body, headers)
        if 200 <= answer.status < 300:
            return Delivered(answer.words, answer.took_ms)
        raise self._refusal(answer)

    def close(self) -> None:
        """Close the client."""
        self._exchanger.close()

    def _refusal(self, answer: Answer) -> SendFailedError:
        sentence = f"{self._exchanger.who} answered {answer.words}."
        if 300 <= answer.status < 400:
            to = urlsplit(answer.location or "").netloc.rpartition("@")[2] or "another address of its own"
            sentence = f"{sentence} It points to {to}; give the channel the address that takes messages."
        return SendFailedError(
            sentence,
            transient=not is_permanent(answer.status),
            far_end=answer.words,
            retry_after_s=retry_after_s(answer.retry_after, self._now()),
        )
