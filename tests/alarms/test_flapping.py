"""A hundred vessels whose temperatures go in and out of their bands: few messages, and nothing hidden.

A flood is more than 10 alarms in 10 minutes: EEMUA 191 (second-hand).
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import pytest

from service.alarms.lifecycle import step
from service.alarms.model import AlarmState, CoreState, Presence, Priority, Subject
from service.alarms.speaking import Reason, channel_leaves_at, has_room, leave_at, message_due, spoken
from tests.alarms.making import T0, finding

VESSELS = 100
HOURS = 4
TICK_S = 30


@dataclass
class Channel:
    """A small working outbox: what waits for each vessel, and what has left as one message."""

    waiting: dict[str, list[tuple[datetime, Priority, Reason]]] = field(default_factory=dict)
    left: list[tuple[datetime, dict[str, list[Reason]]]] = field(default_factory=list)
    last: dict[str, datetime] = field(default_factory=dict)

    def say(self, vessel: str, priority: Priority, reason: Reason, now: datetime) -> None:
        self.waiting.setdefault(vessel, []).append((now, priority, reason))

    def deliver(self, now: datetime) -> None:
        ready = [v for v in self.waiting if self._ready(v, now)]
        for vessel in ready:
            if vessel not in self.waiting:
                continue
            priority = self._priority(vessel)
            departures = [at for at, _ in self.left[-20:]]
            if channel_leaves_at(priority, departures, now) > now:
                continue
            vessels = [vessel] if has_room(priority, departures, now, len(ready)) else list(self.waiting)
            self.left.append((now, {v: [r for _, _, r in self.waiting.pop(v)] for v in vessels}))
            self.last |= dict.fromkeys(vessels, now)

    def _priority(self, vessel: str) -> Priority:
        return max((p for _, p, _ in self.waiting[vessel]), key=lambda p: p.rank)

    def _ready(self, vessel: str, now: datetime) -> bool:
        opened = self.waiting[vessel][0][0]
        return leave_at(self._priority(vessel), self.last.get(vessel), opened, now) <= now


def period_s(vessel: int) -> int:
    return 600 + 60 * (vessel % 30)


def flap(priority: Priority) -> tuple[Channel, dict[str, AlarmState], int]:
    channel = Channel()
    states = {f"v{i}": AlarmState(Subject("above-band", f"v{i}")) for i in range(VESSELS)}
    raises = 0
    for second in range(0, HOURS * 3600, TICK_S):
        now = T0 + timedelta(seconds=second)
        for number, (vessel, state) in enumerate(states.items()):
            outside = (second // (period_s(number) // 2)) % 2 == 0
            found = finding(
                Presence.PRESENT if outside else Presence.ABSENT, state.subject, 60.0, 60.0, priority
            )
            state, changes = step(state, found, now)
            raises += sum(change.after is CoreState.UNACKNOWLEDGED for change in changes)
            reason = message_due(state, None, now)
            if reason is not None:
                channel.say(vessel, state.priority, reason, now)
                state = spoken(state, reason, now)
            states[vessel] = state
        channel.deliver(now)
    return channel, states, raises


@pytest.mark.parametrize(("priority", "raises_a_message"), [(Priority.LOW, 20), (Priority.HIGH, 6)])
def test_a_hundred_flapping_vessels_make_few_messages_and_hide_nothing(
    priority: Priority, raises_a_message: int
) -> None:
    channel, states, raises = flap(priority)

    times = [at for at, _ in channel.left]
    busiest = max(sum(first <= at < first + timedelta(minutes=10) for at in times) for first in times)
    told = {vessel for _, together in channel.left for vessel in together}
    assert raises > 1000
    assert busiest <= 10
    assert told == set(states)
    assert all(state.standing for state in states.values())
    assert len(times) < raises / raises_a_message, (
        f"{len(times)} messages for {raises} raises, at most {busiest} in 10 min"
    )
