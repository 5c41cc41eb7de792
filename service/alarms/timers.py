"""What keeps a clock that jumps from raising, clearing or speaking wrongly.

Delays are kept as wall times, so that they survive a restart, and are carried from one look to the next:

- Set back: every running time moves back by as much, so that what had counted stays counted and
  what was to come is as far away as before.
- Set ahead: one look counts at most half of the delay it is counting (and at least 30 s), however far
  the clock has moved, so that no single jump can raise or clear anything. A watch that knows from its
  monotonic clock that the wall clock jumped says so with `clock_moved`, and nothing is miscounted.
- A start in the future with nothing known of the last look begins anew.
"""

from dataclasses import replace
from datetime import datetime, timedelta

from service.alarms.model import AlarmState

LEAST_CREDIT_S = 30.0
_RUNNING = (
    "pending_since",
    "clearing_since",
    "judged_at",
    "since",
    "unknown_since",
    "episode_at",
    "shelved_until",
    "suppressed_until",
    "respond_by",
    "first_spoken_at",
    "return_spoken_at",
    "last_spoken_at",
    "next_reminder_at",
)


def clock_moved(state: AlarmState, by: timedelta) -> AlarmState:
    """The state after the wall clock was set by `by` (ahead: positive) while the watch ran.

    Times that are history (raised, acknowledged, returned) stay as they were written.
    """
    moved = {name: at + by for name in _RUNNING if (at := getattr(state, name)) is not None}
    return replace(state, shifted_s=state.shifted_s + by.total_seconds(), **moved)


def after_set_back(state: AlarmState, now: datetime) -> AlarmState:
    """The state, carried to a clock that shows less than when it was last judged."""
    if state.judged_at is None or now >= state.judged_at:
        return state
    return clock_moved(state, now - state.judged_at)


def carried(since: datetime, judged_at: datetime | None, now: datetime, delay_s: float) -> datetime:
    """`since`, moved so that `now - since` is the time that has counted towards a delay of `delay_s`."""
    if judged_at is None:
        return min(since, now)
    most = timedelta(seconds=max(delay_s / 2, LEAST_CREDIT_S))
    unseen = now - judged_at - most
    return min(since + max(unseen, timedelta(0)), now)
