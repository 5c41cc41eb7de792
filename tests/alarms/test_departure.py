"""A flood is more than 10 alarms in 10 minutes: EEMUA 191 (second-hand)."""

from datetime import datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.alarms.model import Priority
from service.alarms.speaking import channel_leaves_at, has_room, leave_at
from tests.alarms.making import T0, at

LOW, MEDIUM, HIGH = Priority.LOW, Priority.MEDIUM, Priority.HIGH


@pytest.mark.parametrize(
    ("priority", "last_s", "opened_s", "now_s", "leaves_s"),
    [
        (HIGH, None, None, 0, 0),
        (HIGH, -5, -30, 0, 0),
        (MEDIUM, None, None, 0, 60),
        (MEDIUM, None, -20, 0, 40),
        (LOW, None, -60, 0, 0),
        (LOW, None, -900, 0, 0),
        (LOW, -10, -20, 0, 50),
        (LOW, -900, -20, 0, 40),
        (MEDIUM, None, 5000, 0, 0),
        (MEDIUM, 5000, -20, 0, 40),
    ],
)
def test_messages_of_a_vessel_within_a_minute_leave_together(
    priority: Priority, last_s: float | None, opened_s: float | None, now_s: float, leaves_s: float
) -> None:
    last = None if last_s is None else at(last_s)
    opened = None if opened_s is None else at(opened_s)

    assert leave_at(priority, last, opened, at(now_s)) == at(leaves_s)


def test_while_there_is_room_a_channel_holds_nothing_back() -> None:
    assert channel_leaves_at(LOW, [at(-i) for i in range(4)], T0) == T0
    assert channel_leaves_at(HIGH, [at(-i) for i in range(7)], T0) == T0


def test_then_what_waits_is_gathered_and_what_is_urgent_still_has_room() -> None:
    five = [at(-i) for i in range(5)]

    assert channel_leaves_at(MEDIUM, five, T0) == at(150)
    assert channel_leaves_at(HIGH, five, T0) == T0


@pytest.mark.parametrize(("waiting", "alone"), [(1, True), (3, True), (4, False), (100, False)])
def test_what_there_is_no_room_for_one_by_one_goes_as_one(waiting: int, alone: bool) -> None:
    assert has_room(MEDIUM, [at(-60), at(-30)], T0, waiting) is alone


def test_departures_that_a_clock_set_back_left_in_the_future_hold_nothing_up() -> None:
    assert channel_leaves_at(LOW, [at(3600 + i) for i in range(20)], T0) == T0


def test_urgent_messages_that_never_end_leave_ten_in_ten_minutes_and_no_more() -> None:
    departures: list[datetime] = []
    for second in range(1800):
        if channel_leaves_at(HIGH, departures, at(second)) <= at(second):
            departures.append(at(second))

    assert max(sum(d <= e < d + timedelta(minutes=10) for e in departures) for d in departures) == 10


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 120), st.sampled_from(Priority)), min_size=30, max_size=120))
def test_no_channel_gets_more_than_ten_messages_in_any_ten_minutes(
    wants: list[tuple[int, Priority]],
) -> None:
    departures: list[datetime] = []
    now = T0
    for wait, priority in wants:
        now += timedelta(seconds=wait)
        now = max(now, channel_leaves_at(priority, departures, now))
        departures.append(now)

    for first in departures:
        window = [d for d in departures if first <= d < first + timedelta(minutes=10)]
        assert len(window) <= 10


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(0, 600), max_size=10), st.sampled_from(Priority))
def test_what_waits_for_a_channel_leaves_within_ten_minutes(ago: list[int], priority: Priority) -> None:
    leaves = channel_leaves_at(priority, [at(-s) for s in ago], T0)

    assert timedelta(0) <= leaves - T0 <= timedelta(minutes=10)
