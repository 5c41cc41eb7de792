"""When a waiting message may leave: what belongs together goes as one, and a flood stays readable.

EEMUA 191 calls more than 10 alarms in 10 minutes a flood (second-hand); here no channel gets more
messages than that, and nothing is dropped: what waits goes together in the next message.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from service.alarms.model import Priority

TOGETHER_S = 60.0
"""Messages of one vessel within a minute of the first are one message."""

FLOOD_WINDOW_S = 600.0
FLOOD_MOST = 10
_WINDOW = timedelta(seconds=FLOOD_WINDOW_S)
ROOM = {Priority.LOW: 5, Priority.MEDIUM: 5, Priority.HIGH: 8}
"""How many messages may have left in the window before the next waits to be gathered with others."""
GATHER_S = 150.0
"""Time between gathered messages: four in a window, so that there is room for both kinds."""


def leave_at(
    priority: Priority,
    last_departure_of_vessel: datetime | None,
    opened_at: datetime | None,
    now: datetime,
) -> datetime:
    """When a message of one vessel leaves. A high one leaves at once and takes along what waits there.

    opened_at: when the first of those that wait for this vessel arose; None when this is the first.
    Times in the future (the clock was set back) hold nothing up: no message waits longer than a minute.
    """
    if priority is Priority.HIGH:
        return now
    together = timedelta(seconds=TOGETHER_S)
    opened = now if opened_at is None else opened_at
    if opened > now:
        return now
    leaves = max(opened + together, now)
    if last_departure_of_vessel is None or last_departure_of_vessel > now:
        return leaves
    return max(leaves, last_departure_of_vessel + together)


def channel_leaves_at(priority: Priority, departures: Sequence[datetime], now: datetime) -> datetime:
    """When the next message may leave a channel at the earliest, given when the last ones left it.

    At once while there is room; then every `GATHER_S`, all that waits for the channel together as one
    message; never more than `FLOOD_MOST` in any `FLOOD_WINDOW_S`.
    Departures in the future (the clock was set back) are passed over, or nothing would leave for hours.
    """
    recent = _recent(departures, now)
    if len(recent) < ROOM[priority]:
        return now
    leaves = max(now, recent[-1] + timedelta(seconds=GATHER_S))
    if len(recent) >= FLOOD_MOST:
        leaves = max(leaves, recent[-FLOOD_MOST] + _WINDOW)
    return leaves


def has_room(priority: Priority, departures: Sequence[datetime], now: datetime, waiting: int = 1) -> bool:
    """Whether messages go one by one. Without room for all, one message carries all that waits.

    waiting: for how many vessels messages wait to leave this channel now.
    """
    return len(_recent(departures, now)) + waiting <= ROOM[priority]


def _recent(departures: Sequence[datetime], now: datetime) -> list[datetime]:
    return sorted(at for at in departures if now - _WINDOW < at <= now)
