"""Reading Retry-After (RFC 9110, 10.2.3), which is either seconds or a date."""

import re
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime

_LONGEST_S = 10 * 365 * 86400.0


def retry_after_s(value: str | None, now: datetime) -> float | None:
    """The wait a far end asks for, in seconds from `now` (aware UTC); None when it asks for nothing clear.

    A date that is past means no wait.
    """
    if value is None:
        return None
    value = value.strip()
    if re.fullmatch(r"[0-9]+", value):
        return min(float(value[:12]), _LONGEST_S)
    try:
        when = parsedate_to_datetime(value)
        when = when.replace(tzinfo=UTC) if when.tzinfo is None else when
        return max((when - now).total_seconds(), 0.0)
    except (ValueError, OverflowError):
        return None
