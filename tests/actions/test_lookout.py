"""Looking at batches again and again: what is kept, what the watch hears, what becomes an alarm."""

import asyncio
from datetime import timedelta
from typing import Any

from service.actions.lookout import Lookout
from service.record.estimates import keep_estimate, kept_estimates
from service.watch.fold import minute_of
from tests.actions.brewed import PLAN, brewed, with_probes, write
from tests.rig import START, Rig, with_batch
from tests.thermal.build import batch

MADE = batch(140, volume_l=10.0)


def kept(rig: Rig, name: str) -> list[tuple[float, str]]:
    """(hours after the start, verdict) of what is kept, newest first."""
    with rig.record.reading() as connection:
        found = kept_estimates(connection, name, limit=100)
    return [((k.at - START).total_seconds() / 3600, k.body["verdict"]) for k in found]


def say(rig: Rig, name: str, hours_ago: float, verdict: str, **more: Any) -> None:
    """Keep an estimate as if it had been made so many hours ago."""
    at = rig.clock.now() - timedelta(hours=hours_ago)
    body = {"at": at.isoformat(), "verdict": verdict, "evidence": ["By hand."], "share": None, **more}
    rig.record.write(lambda c: keep_estimate(c, name, at, body))


def test_a_look_keeps_the_estimate_and_an_earlier_one_to_hold_it_against(rig: Rig) -> None:
    name = brewed(rig, 130, MADE)

    Lookout(rig.desk).look(name)

    assert kept(rig, name) == [(0.0, "ended"), (-4.0, "ended")]


def test_open_pages_are_told_of_an_estimate(rig: Rig) -> None:
    name = brewed(rig, 60, MADE)

    Lookout(rig.desk).look(name)

    events = asyncio.run(missed(rig))
    assert [e for e in events if "event: estimate" in e] == events[-1:]
    assert f'"batch_id":"{name}"' in events[-1]
    assert '"stopped-early"' in events[-1]


async def missed(rig: Rig) -> list[str]:
    """What a page gets that comes back after everything."""
    rig.broker.publish("stage", {})
    found: list[str] = []
    async for text in rig.broker.listen("test-0"):
        if "event: stage" in text and found:
            return found[1:]
        found.append(text)
    return found


def test_two_ends_of_activity_ask_for_a_sample(rig: Rig) -> None:
    name = brewed(rig, 130, MADE)
    lookout = Lookout(rig.desk)

    lookout.look(name)
    lookout.glance()
    keep_warm(rig, 2 * 3600)

    assert rig.standing()["sample-due"]["batch_id"] == name


def keep_warm(rig: Rig, seconds: float) -> None:
    """Let the watch go round; the pushed probes stay silent, which the tests here do not look at."""
    rig.sweep_s = 600.0
    rig.until(seconds)


def test_a_first_look_soon_after_pitching_needs_no_earlier_one(rig: Rig) -> None:
    name = brewed(rig, 10, MADE)

    Lookout(rig.desk).look(name)

    assert [at for at, _ in kept(rig, name)] == [0.0]


def test_a_batch_is_wanted_while_it_ferments_and_anew_when_something_is_told(rig: Rig) -> None:
    lookout = Lookout(rig.desk)
    name = brewed(rig, 60, MADE)
    before = lookout.wanted()

    rig.post(f"/batches/{name}/readings", {"sg": 1.020})
    after = lookout.wanted()
    rig.post(f"/batches/{name}/advance", {"to": "bottles"})
    lookout.look(name)

    assert set(before) == set(after) == {name}
    assert before[name] != after[name]
    assert lookout.wanted() == {}


def test_an_unpitched_batch_is_not_estimated(rig: Rig) -> None:
    hold = {"name": "Hold", "stages": [{"key": "rest", "kind": "hold", "target_c": 20, "lasts_s": 86400}]}
    with_batch(rig, hold)

    assert Lookout(rig.desk).wanted() == {}


def test_the_share_that_fermented_settles_how_urgent_warmth_is(rig: Rig) -> None:
    name = with_batch(rig, og=1.045)
    rig.rounds(2)
    say(rig, name, 0, "working", share={"value": 0.6, "low": 0.5, "high": 0.7})
    Lookout(rig.desk).glance()

    rig.source.values = dict.fromkeys(rig.source.values, 23.0)
    rig.rounds(400)

    assert rig.standing()["above-band"]["priority"] == "low"


def test_a_probe_that_came_off_is_told_to_the_watch_until_it_sits_again(rig: Rig) -> None:
    began = START - timedelta(hours=30)
    with_probes(rig, began.isoformat())
    first = minute_of(START) - 120
    write(rig, "air", [16.0] * 400, first)
    write(rig, "beer", [20.0] * 100 + [20 - 4 * min(1, k / 8) for k in range(20)] + [16.0] * 80, first)
    write(rig, "beer", [19.8] * 200, first + 200)
    body = {"name": "Off", "vessel_id": "tub", "plan": PLAN, "started_at": began.isoformat()}
    name = rig.post("/batches", body)["id"]
    lookout = Lookout(rig.desk)
    seen = []

    for minutes in (0, 70, 100):
        rig.clock.forward(minutes * 60)
        Lookout(rig.desk).glance()
        seen.append(rig.watch.insight_of(name).adrift)

    assert seen == [True, True, False]
    assert lookout.wanted()


def test_without_a_room_probe_nobody_can_tell_whether_it_came_off(rig: Rig) -> None:
    name = brewed(rig, 30, MADE, air=False)

    Lookout(rig.desk).glance()

    assert rig.watch.insight_of(name).adrift is None


def test_a_band_about_to_be_left_is_told_to_the_watch_and_shown_at_the_vessel(rig: Rig) -> None:
    stage = {**PLAN["stages"][0], "target_c": 19.0, "high_c": round(MADE.beer_c[20 * 60] + 0.4, 2)}
    name = brewed(rig, 20, MADE, plan={"name": "Tight", "stages": [stage]})

    Lookout(rig.desk).glance()

    heading = rig.watch.insight_of(name).heading
    assert heading is not None
    assert heading.leaves_at is not None
    assert heading.limit_c == stage["high_c"]
    assert rig.get("/vessels/tub")["now"]["leaves_band_at"] is not None


def test_a_forecast_without_a_room_raises_nothing(rig: Rig) -> None:
    name = brewed(rig, 20, MADE, air=False)

    Lookout(rig.desk).glance()

    assert rig.watch.insight_of(name).heading is None


FALLEN = [20.0] * 100 + [20 - 4 * min(1, k / 8) for k in range(20)]


def test_a_probe_moved_on_purpose_has_not_come_off(rig: Rig) -> None:
    began = START - timedelta(hours=30)
    with_probes(rig, began.isoformat())
    write(rig, "air", [16.0] * 120, minute_of(START) - 120)
    write(rig, "beer", FALLEN, minute_of(START) - 120)
    name = rig.post(
        "/batches", {"name": "Off", "vessel_id": "tub", "plan": PLAN, "started_at": began.isoformat()}
    )["id"]
    again = {"vessel_id": "tub", "role": "liquid", "from": (START - timedelta(minutes=20)).isoformat()}

    rig.patch("/probes/beer", again)
    Lookout(rig.desk).glance()

    assert rig.watch.insight_of(name).adrift is False


def test_a_room_that_was_typed_in_tells_that_a_probe_came_off(rig: Rig) -> None:
    began = START - timedelta(hours=30)
    with_probes(rig, began.isoformat(), air=False)
    rig.post("/probes", {"label": "Hall", "source": "typed"})
    rig.patch("/probes/hall", {"vessel_id": "tub", "role": "surroundings", "from": began.isoformat()})
    sample = {"at": (START - timedelta(hours=5)).isoformat(), "temp_c": 16.0}
    rig.post("/probes/hall/samples", {"samples": [sample]})
    write(rig, "beer", FALLEN, minute_of(START) - 120)
    name = rig.post(
        "/batches", {"name": "Off", "vessel_id": "tub", "plan": PLAN, "started_at": began.isoformat()}
    )["id"]

    Lookout(rig.desk).glance()
    fallen = rig.watch.insight_of(name).adrift
    rig.clock.forward(10 * 3600)
    Lookout(rig.desk).glance()

    assert (fallen, rig.watch.insight_of(name).adrift) == (True, None)
