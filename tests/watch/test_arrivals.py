"""Samples that arrive: what is kept, what is folded, what is counted."""

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sensors.sample import ProbeId
from service.record.minutes import minutes_of
from service.watch.arrivals import forget_raw, stretches
from tests.rig import START, Rig

AIR = ProbeId("cupboard-air")


@pytest.fixture
def air(rig: Rig) -> Rig:
    """A rig with a declared probe that is pushed to."""
    rig.rounds(1)
    rig.post("/probes", {"label": "Cupboard air", "source": "pushed", "interval_s": 60})
    return rig


def faults(rig: Rig) -> Any:
    return rig.get("/probes/cupboard-air")["health"]["faults_1h"]


@settings(max_examples=80)
@given(st.sets(st.integers(0, 30_000), max_size=60))
def test_stretches_hold_every_minute_once_and_none_is_long(minutes: set[int]) -> None:
    found = stretches(minutes)

    assert all(sum(first <= minute < last for first, last in found) == 1 for minute in minutes)
    assert all({first, last - 1} <= minutes and last - first <= 1440 for first, last in found)


def test_neighbouring_minutes_are_fetched_together_and_a_month_between_two_is_not() -> None:
    assert stretches({5, 6, 64}) == [(5, 65)]
    assert stretches({5, 66}) == [(5, 6), (66, 67)]
    assert stretches(set(range(0, 3000, 10)))[0] == (0, 1431)


def test_what_is_no_temperature_counts_as_a_fault_of_its_kind(air: Rig) -> None:
    now = air.clock.now()
    values = [float("nan"), 300.0, -127.0, 19.0]

    arrived = air.watch.arrive(AIR, [(n, now - timedelta(seconds=n), v) for n, v in enumerate(values)])

    assert arrived.refused == ((0, "not-a-number"), (1, "out-of-range"), (2, "out-of-range"))
    assert faults(air) == {"unreadable": 1, "out-of-range": 1, "disconnected": 1}
    assert air.get("/probes/cupboard-air")["last"]["temp_c"] == 19.0


def test_refused_values_of_the_past_and_the_future_are_no_fault_of_now(air: Rig) -> None:
    now = air.clock.now()
    hour = timedelta(hours=0.5)

    arrived = air.watch.arrive(
        AIR, [(0, now - hour, 300.0), (1, now - hour, float("nan")), (2, now + hour, 20)]
    )

    assert arrived.refused == ((0, "out-of-range"), (1, "not-a-number"), (2, "future"))
    assert faults(air) == {}


def test_a_minute_whose_samples_were_dropped_is_not_made_anew_and_others_of_its_day_are(air: Rig) -> None:
    long_ago = START - timedelta(days=31)
    air.watch.arrive(AIR, [(0, long_ago, 19.0)])
    air.record.write(lambda connection: forget_raw(connection, air.clock.now()))

    air.watch.arrive(
        AIR, [(0, long_ago + timedelta(seconds=20), 25.0), (1, long_ago + timedelta(minutes=20), 18.0)]
    )

    with air.record.reading() as connection:
        kept = [(row.mean_mc, row.count) for row in minutes_of(connection, 2, 0, 2**31)]
    assert kept == [(19000, 1), (18000, 1)]


def test_old_and_new_samples_in_one_batch_each_go_to_their_minute(air: Rig) -> None:
    now = air.clock.now()
    old = now - timedelta(days=20)
    air.watch.arrive(AIR, [(0, old, 19.0), (1, now, 20.0)])

    arrived = air.watch.arrive(AIR, [(0, old, 19.0), (1, now, 21.0), (2, old + timedelta(seconds=5), 20.0)])

    assert (arrived.new, arrived.known, arrived.refused) == (1, 1, ((1, "conflict"),))
    with air.record.reading() as connection:
        kept = [(row.mean_mc, row.count) for row in minutes_of(connection, 2, 0, 2**31)]
    assert kept == [(19500, 2), (20000, 1)]
