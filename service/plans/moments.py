"""Times and lengths of time as plans take them and say them."""

from datetime import UTC, datetime

from service.errors import InvalidInputError, Problem

LONGEST_S = 730 * 86400.0
"""No stage is planned or prolonged beyond two years."""

_UNITS = ((86400.0, "d"), (3600.0, "h"), (60.0, "min"))


def moment(at: datetime, field: str) -> datetime:
    """The same time in UTC. InvalidInputError at `field`: it has no offset, so it is no one moment."""
    if at.tzinfo is None or at.utcoffset() is None:
        raise InvalidInputError(
            Problem(field, f"the time {at.isoformat()} has no offset from UTC", 'add one: "Z" or "+01:00"')
        )
    return at.astimezone(UTC)


def said_time(at: datetime) -> str:
    """A time for a sentence, to the second: "2026-11-25 14:05:00 UTC"."""
    return at.astimezone(UTC).strftime("%Y-%m-%d %H:%M:%S UTC")


def said_length(seconds: float) -> str:
    """A length of time for a sentence, in the largest unit that fits well: "90 min", "1 d"."""
    for size, unit in _UNITS:
        if seconds >= 2 * size or (seconds >= size and seconds % size == 0):
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds:.3g} s"


def said_temp(temp_c: float) -> str:
    """A temperature for a sentence: "19.8 C", "67 C"."""
    return f"{temp_c:.4g} C"
