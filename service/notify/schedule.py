"""When to try again, when to give up, and when a channel counts as failing. Pure."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from service.notify.envelope import SendFailedError

FIRST_WAIT = timedelta(seconds=10)
LONGEST_WAIT = timedelta(minutes=5)
"""A new alarm waits behind one that is being retried, so the wait after a long outage must stay short."""

LONGEST_ASKED = timedelta(hours=1)
"""A far end that asks for more (Retry-After) is asked again after this."""

JITTER = 0.2
"""A wait is lengthened by up to this share, so that channels that failed together do not return together."""

LEAST_ATTEMPTS = 50
"""About four hours of trying, so that a clock that jumped days ahead makes nothing be given up."""

FAILING_AFTER = timedelta(hours=1)


def next_attempt(
    attempts: int, error: SendFailedError, first_failed_at: datetime | None, now: datetime, jitter: float
) -> datetime | None:
    """When to try again after a failure at `now`, or None to give up.

    attempts: failed attempts so far, this one included. first_failed_at: None when this was the first.
    jitter: 0 to 1. A refusal that says it is permanent is given up at once. Anything else is repeated
    for `error.keep_trying_for` (five days; 24 hours where the failure does not say what it is) and at
    least 50 times; the attempt that follows the last failure within that time is still made. Waits double
    from 10 s to 5 min; the wait the far end asked for is kept, up to an hour.
    """
    if not error.transient:
        return None
    long_ago = first_failed_at is not None and now - first_failed_at >= error.keep_trying_for
    if long_ago and attempts >= LEAST_ATTEMPTS:
        return None
    doublings = min(max(attempts - 1, 0), 16)
    wait = min(FIRST_WAIT * (1 << doublings), LONGEST_WAIT)
    if error.retry_after_s is not None:
        wait = max(wait, timedelta(seconds=min(max(error.retry_after_s, 0.0), LONGEST_ASKED.total_seconds())))
    return now + wait * (1 + JITTER * min(max(jitter, 0.0), 1.0))


@dataclass(frozen=True, slots=True)
class ChannelFacts:
    """What the record knows of one channel (aware UTC, None when it never happened).

    failing_since: when the first attempt failed of the oldest message that still waits.
    gave_up_at: when a message was last given up. sent_at: when one (a test included) last arrived.
    """

    failing_since: datetime | None
    gave_up_at: datetime | None
    sent_at: datetime | None


def failing(facts: ChannelFacts, now: datetime) -> bool:
    """Whether people must be told elsewhere that this channel does not deliver.

    True when a message could not leave for an hour, and at once when one was given up, until the next
    one arrives.
    """
    if facts.failing_since is not None and now - facts.failing_since >= FAILING_AFTER:
        return True
    return facts.gave_up_at is not None and (facts.sent_at is None or facts.sent_at < facts.gave_up_at)
