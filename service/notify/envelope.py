"""What is sent, and what came of it: an envelope is a message that cannot change any more."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from service.errors import GylewatchError

TRANSIENT_FOR = timedelta(days=5)
"""How long a failure that may pass is tried again: RFC 5321, 4.5.4.1 asks for at least four to five days."""

UNCLEAR_FOR = timedelta(hours=24)
"""The same for a failure that does not say whether trying again can help."""


@dataclass(frozen=True, slots=True)
class Envelope:
    """One message as it leaves: the same for every attempt, so that repeats can be recognised by `id`.

    reason: why it is sent (``first``, ``reminder``, ``returned``, …). vessel: the vessel's id, or None
    when it is about the watch itself. title: one line. text: the whole message for a person, plain text.
    alarms: the alarms as the HTTP contract shows them, ready for JSON. at: when the message was written
    (aware UTC); it stays so however late the message leaves.
    """

    id: str
    reason: str
    vessel: str | None
    title: str
    text: str
    alarms: tuple[Mapping[str, object], ...]
    at: datetime

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise ValueError(f"the time of message {self.id} has no time zone")


def payload(envelope: Envelope) -> dict[str, object]:
    """The body a webhook gets: plain values, ready for JSON; `at` in RFC 3339 with ``Z``.

    `text` begins with the title, which names the vessel: many receivers show nothing else.
    """
    return {
        "id": envelope.id,
        "reason": envelope.reason,
        "vessel": envelope.vessel,
        "text": f"{envelope.title}\n\n{envelope.text}",
        "alarms": [dict(alarm) for alarm in envelope.alarms],
        "at": envelope.at.astimezone(UTC).isoformat().replace("+00:00", "Z"),
    }


@dataclass(frozen=True, slots=True)
class Delivered:
    """The far end said yes. far_end: its words, masked. took_ms: from the first byte to the yes."""

    far_end: str
    took_ms: int


class SendFailedError(GylewatchError):
    """The message did not leave, or nobody said that it arrived.

    transient: trying again can help. retry_after_s: the wait the far end asked for, in seconds.
    far_end: its own words, masked, or "" when it said nothing. keep_trying_for: how long a transient
    failure is worth repeating, from the first failure on.
    """

    def __init__(
        self,
        sentence: str,
        *,
        transient: bool,
        far_end: str = "",
        retry_after_s: float | None = None,
        keep_trying_for: timedelta = TRANSIENT_FOR,
    ) -> None:
        super().__init__(sentence)
        self.transient = transient
        self.far_end = far_end
        self.retry_after_s = retry_after_s
        self.keep_trying_for = keep_trying_for
