"""A thermometer that a person reads: what is typed in stands for some hours, and its silence is no alarm."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.actions.known import known, temperatures
from service.record.batches import batch_by_id
from service.record.minutes import Bucket
from service.watch.fold import minute_of
from service.watch.offprobe import Off, looked_at
from service.watch.typed import age_words, held, holds_min
from tests.rig import PROBE, START, Rig, rig_in, with_batch


def hang_one(rig: Rig) -> str:
    batch = with_batch(rig, og=1.046, volume_l=5)
    asked = {"label": "Hall", "source": "typed", "vessel_id": "bucket", "role": "surroundings"}
    assert rig.post("/probes", asked)["interval_s"] is None
    return batch


def type_in(rig: Rig, temp_c: float, ago_s: float = 0.0) -> Any:
    at = (rig.clock.now() - timedelta(seconds=ago_s)).isoformat()
    return rig.post("/probes/hall/samples", {"samples": [{"at": at, "temp_c": temp_c}]})


def air(rig: Rig, width: int = 1) -> dict[int, float]:
    now = rig.clock.now()
    with rig.record.reading() as connection:
        where = [("bucket", START, now)]
        return temperatures(connection, rig.watch.house, where, "surroundings", width)


def test_it_is_the_room_of_its_vessel_with_its_age_in_words(rig: Rig) -> None:
    hang_one(rig)
    type_in(rig, 17.5)

    rig.clock.forward(3 * 3600)
    now = rig.get("/vessels/bucket")["now"]

    assert now["surroundings_c"] == 17.5
    assert now["surroundings_note"] == "Read by hand 3 hours ago; it stands for the room for 12 hours."
    assert rig.get("/probes/hall")["health"]["state"] == "well"


def test_it_is_too_old_after_its_hours_and_raises_nothing(rig: Rig) -> None:
    hang_one(rig)
    type_in(rig, 17.5)

    for _ in range(26):
        rig.clock.forward(1800)
        rig.rounds(1)

    assert rig.get("/vessels/bucket")["now"]["surroundings_c"] is None
    health = rig.get("/probes/hall")["health"]
    assert health["state"] == "silent"
    assert health["sentence"] == (
        "Read by hand 13 hours ago, too old to count. Type in what the thermometer shows now."
    )
    alarms = rig.get("/alarms", limit=1000)["items"]
    assert [a["key"] for a in alarms if a["probe_id"] == "hall"] == []


def test_it_stands_for_the_room_between_typings_and_no_longer_than_it_holds(rig: Rig) -> None:
    hang_one(rig)
    type_in(rig, 17.0)
    rig.clock.forward(2 * 3600)
    type_in(rig, 18.0)
    rig.clock.forward(14 * 3600)

    seen = {minute - minute_of(START): temp_c for minute, temp_c in air(rig).items()}

    assert [seen[k] for k in (1, 119, 120, 120 + 719)] == [17.0, 17.0, 18.0, 18.0]
    assert 120 + 720 not in seen
    assert air(rig, 60)[minute_of(START)] == 17.0


def test_what_measures_counts_before_what_is_typed(rig: Rig) -> None:
    hang_one(rig)
    rig.post("/probes", {"label": "Air", "vessel_id": "bucket", "role": "surroundings"})
    rig.patch("/probes/hall", {"vessel_id": None})
    rig.patch("/probes/hall", {"vessel_id": "bucket", "role": "surroundings"})
    type_in(rig, 25.0)
    sample = {"at": rig.clock.now().isoformat(), "temp_c": 16.0}
    rig.post("/probes/air/samples", {"samples": [sample]})
    rig.clock.forward(120)

    assert rig.get("/vessels/bucket")["now"]["surroundings_c"] == 16.0
    assert air(rig)[minute_of(START)] == 16.0


def test_estimates_get_it_as_their_room(rig: Rig) -> None:
    batch = hang_one(rig)
    type_in(rig, 17.0)
    rig.until(600)

    with rig.record.reading() as connection:
        told = known(connection, rig.watch.house, batch_by_id(connection, batch), rig.clock.now())

    assert told.air is not None
    assert set(told.air.temp_c) == {17.0}
    assert len(told.air.temp_c) == 10


def test_an_estimate_says_that_its_room_was_read_by_hand(rig: Rig) -> None:
    batch = hang_one(rig)
    before = rig.get(f"/batches/{batch}/estimate")["evidence"]
    type_in(rig, 17.0)
    rig.clock.forward(3 * 3600)

    after = rig.get(f"/batches/{batch}/estimate")["evidence"]

    assert before[-1] == "The room's temperature is to be typed in, and nothing was yet."
    assert after[-1] == (
        "The room: read by hand 3 hours ago; it stands for the room for 12 hours. "
        "So this is rougher than it says."
    )


def test_it_stands_on_after_a_restart(tmp_path: Path) -> None:
    with rig_in(tmp_path) as rig:
        hang_one(rig)
        type_in(rig, 17.5)
        rig.clock.forward(5 * 3600)
        clock = rig.clock

    with rig_in(tmp_path, clock=clock) as again:
        assert again.get("/vessels/bucket")["now"]["surroundings_c"] == 17.5


@pytest.mark.parametrize("slip", [64.0, -40.0])
def test_a_slip_of_the_hand_is_refused_beside_good_ones(rig: Rig, slip: float) -> None:
    hang_one(rig)
    now = rig.clock.now()
    both = [
        {"at": now.isoformat(), "temp_c": slip},
        {"at": (now - timedelta(minutes=1)).isoformat(), "temp_c": 18.0},
    ]

    receipt = rig.post("/probes/hall/samples", {"samples": both})

    assert receipt["new"] == 1
    assert receipt["refused"] == [{"index": 0, "reason": "out-of-range"}]
    assert rig.get("/probes/hall")["health"]["faults_1h"] == {}


def test_a_room_may_have_changed_by_much_since_the_last_typing(rig: Rig) -> None:
    hang_one(rig)
    type_in(rig, 12.0, ago_s=60)

    assert type_in(rig, 24.0)["new"] == 1
    assert rig.get("/vessels/bucket")["now"]["surroundings_c"] == 24.0


@pytest.mark.parametrize(
    ("more", "field"),
    [({"interval_s": 60}, "/interval_s"), ({"role": "liquid", "vessel_id": "bucket"}, "/role")],
)
def test_what_means_nothing_for_it_is_refused(rig: Rig, more: dict[str, Any], field: str) -> None:
    with_batch(rig)

    refused = rig.post("/probes", {"label": "Hall", "source": "typed", **more}, expect=422)

    assert [e["field"] for e in refused["errors"]] == [field]


def test_it_cannot_be_changed_into_one_either(rig: Rig) -> None:
    hang_one(rig)

    refused = [
        rig.patch("/probes/hall", body, expect=422) for body in ({"interval_s": 60}, {"role": "liquid"})
    ]

    assert [e["field"] for one in refused for e in one["errors"]] == ["/interval_s", "/role"]


def test_a_new_typing_puts_no_probe_back_that_came_off() -> None:
    off = Off(START - timedelta(hours=5), 4.0, "It has come off.")
    room: list[float | None] = [16.0] * 60 + [17.0] * 30
    fallen: list[float | None] = [16.4] * 90

    assert looked_at(off, fallen, room, None, START) is None
    assert looked_at(off, fallen, room, None, START, air_by_hand=True) == off


def test_a_probe_that_comes_off_is_seen_by_a_room_that_was_typed_in() -> None:
    fallen: list[float | None] = [20.0] * 70 + [20 - 4 * min(1, k / 8) for k in range(20)]

    assert looked_at(None, fallen, [16.0] * 90, None, START, air_by_hand=True) is not None


@settings(max_examples=60)
@given(
    minutes=st.lists(st.integers(0, 3000), unique=True, max_size=8).map(sorted),
    width=st.sampled_from([1, 5, 60]),
    first=st.integers(0, 2000),
    long=st.integers(1, 2000),
)
def test_every_held_minute_has_a_typing_before_it_within_its_hours_and_none_is_left_out(
    minutes: list[int], width: int, first: int, long: int
) -> None:
    points = [Bucket(m, 1000.0 + m, m, m, 1) for m in minutes]
    last = first + long
    wanted = sum(any(m <= k < m + holds_min() for m in minutes) for k in range(first, last))

    found = held([p for p in points if p.start_minute < last], first, last, width)

    assert sum(one.minutes for one in found) == wanted
    assert all(one.start_minute % width == 0 for one in found)
    if width == 1:
        for one in found:
            newest = max(m for m in minutes if m <= one.start_minute)
            assert one.mean_mc == 1000.0 + newest


@pytest.mark.parametrize(
    ("age", "words"), [(timedelta(seconds=30), "just now"), (timedelta(minutes=45), "45 minutes ago")]
)
def test_its_age_is_said_plainly(age: timedelta, words: str) -> None:
    assert age_words(age) == f"Read by hand {words}; it stands for the room for 12 hours."


def test_the_beer_is_watched_as_before(rig: Rig) -> None:
    hang_one(rig)
    rig.source.values[PROBE] = None
    rig.until(60)

    assert "no-reading" in rig.standing()
