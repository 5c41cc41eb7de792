"""A clock that is set ahead takes no stage on, and lets none ask, before it has been believed for a while."""

from datetime import timedelta
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from service.record.outbox import messages
from service.watch.clock_sense import BELIEVED_ROUNDS, BELIEVED_S, Settling
from service.watch.progress import Progress
from tests.rig import PROBE, START, Rig, with_batch

HOUR = timedelta(hours=1)
PLAN: dict[str, Any] = {
    "name": "Two steps",
    "stages": [
        {
            "key": "first",
            "kind": "stand",
            "lasts_s": 3600,
            "ends": "time",
            "prompts": [{"at_s": 1800, "say": "Stir it"}],
        },
        {"key": "second", "kind": "hold", "lasts_s": 864000, "ends": "brewer"},
    ],
}


def stage(rig: Rig, batch: str) -> str:
    """The stage as it was committed."""
    (row,) = [b for b in rig.watch.house.batches if b.row.id == batch]
    return row.course.steps[-1].stage_key


def asked(rig: Rig) -> list[str]:
    return [a["reason"][:7] for a in rig.get("/alarms")["items"] if a["key"] == "stage-due"]


def test_a_jump_that_is_taken_back_moves_no_stage_and_asks_for_nothing(rig: Rig) -> None:
    rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
    batch = with_batch(rig, PLAN)
    rig.until(300)

    rig.clock.at += 2 * HOUR
    rig.until(50)
    during = stage(rig, batch)
    rig.clock.at -= 2 * HOUR
    rig.until(300)

    assert during == stage(rig, batch) == "first"
    assert asked(rig) == []
    with rig.record.reading() as connection:
        assert messages(connection) == []


def test_a_jump_that_stays_is_believed_after_a_minute_and_nothing_it_passed_is_lost(rig: Rig) -> None:
    batch = with_batch(rig, PLAN)
    rig.until(300)

    rig.clock.at += 2 * HOUR
    rig.until(120)

    assert stage(rig, batch) == "second"
    assert asked(rig) == ["Stir it"]


def test_a_stage_still_elapses_in_time_while_a_jump_settles(rig: Rig) -> None:
    batch = with_batch(rig, PLAN)
    rig.until(3580)

    rig.clock.at += timedelta(seconds=8)
    rig.until(40)

    assert stage(rig, batch) == "second"


def test_a_jump_does_not_count_as_time_inside_the_band(rig: Rig) -> None:
    plan = {
        "name": "Up",
        "stages": [
            {"key": "up", "kind": "mash", "target_c": 20, "lasts_s": 3600, "ends": "reached"},
            {"key": "hold", "kind": "hold", "lasts_s": 3600, "ends": "brewer"},
        ],
    }
    rig.source.values[PROBE] = 18.0
    batch = with_batch(rig, plan)
    rig.rounds(2)
    rig.source.values[PROBE] = 20.0
    rig.rounds(2)

    rig.clock.at += HOUR
    rig.rounds(1)
    soon = stage(rig, batch)
    rig.until(60)

    assert soon == "up"
    assert stage(rig, batch) == "hold"
    (row,) = rig.watch.house.batches
    assert row.course.steps[-1].entered_at < START + HOUR


def test_the_time_inside_moves_along_with_the_clock() -> None:
    inside = Progress(1).after(inside=True, now=START)

    assert not inside.moved(HOUR).lasted(START + HOUR + timedelta(seconds=59))
    assert inside.moved(HOUR).lasted(START + HOUR + timedelta(seconds=60))
    assert Progress(1).moved(HOUR) == Progress(1)


def test_a_clock_that_is_not_believed_settles_only_afterwards() -> None:
    settling = Settling().after(HOUR, True, 0.0)
    for second in range(10, 600, 10):
        settling = settling.after(None, False, float(second))
    assert settling.ahead == HOUR

    for second in range(600, 660, 10):
        settling = settling.after(None, True, float(second))
    assert settling.ahead == HOUR
    assert settling.after(None, True, 660.0) == Settling()


def test_few_and_slow_rounds_are_not_enough() -> None:
    settling = Settling().after(HOUR, True, 0.0)

    ahead = []
    for n in range(1, BELIEVED_ROUNDS + 2):
        settling = settling.after(None, True, 300.0 * n)
        ahead.append(settling.ahead)

    assert ahead == [HOUR] * BELIEVED_ROUNDS + [timedelta(0)]


JUMPS = st.one_of(st.none(), st.integers(-7200, 7200).map(lambda s: timedelta(seconds=s)))


@settings(max_examples=100)
@given(st.lists(st.tuples(JUMPS, st.booleans()), max_size=30))
def test_stages_never_run_ahead_of_the_clock_and_wait_no_longer_than_they_must(
    rounds: list[tuple[timedelta | None, bool]],
) -> None:
    settling, mono = Settling(), 0.0
    for jumped, believed in rounds:
        mono += 10.0
        settling = settling.after(jumped, believed, mono)
        assert settling.ahead >= timedelta(0)
        if jumped is not None and jumped > timedelta(0):
            assert settling.ahead >= jumped
    for _ in range(max(BELIEVED_ROUNDS, int(BELIEVED_S / 10)) + 1):
        mono += 10.0
        settling = settling.after(None, True, mono)

    assert settling == Settling()
