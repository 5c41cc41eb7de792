"""What lies ahead of a batch and what lies behind it, over HTTP."""

import math
import time
from datetime import datetime, timedelta
from typing import Any

import pytest

from service.actions.lookout import Lookout
from service.watch.fold import minute_of
from tests.actions.brewed import PLAN, brewed, with_probes, write
from tests.rig import START, Rig, with_batch
from tests.thermal.build import batch

POINT = {"at", "temp_c", "low90_c", "high90_c", "target_c", "low_c", "high_c", "stage"}
MADE = batch(140, volume_l=10.0)
ROOM = {"mean_c": 18, "swing_c": 2, "warmest_at": "16:00"}


def at(hours: float) -> str:
    return (START + timedelta(hours=hours)).isoformat()


def tight(high_c: float) -> dict[str, Any]:
    return {
        **PLAN,
        "stages": [{**PLAN["stages"][0], "target_c": high_c - 1, "high_c": high_c}, PLAN["stages"][1]],
    }


def test_the_forecast_follows_the_beer_and_its_interval_grows(rig: Rig) -> None:
    name = brewed(rig, 60, MADE)
    Lookout(rig.desk).look(name)

    answer = rig.get(f"/batches/{name}/forecast", hours=24)

    assert set(answer) == {"points", "leaves_band_at", "advice"}
    points = answer["points"]
    assert len(points) == 97
    assert all(set(p) == POINT for p in points)
    assert (points[0]["low_c"], points[0]["high_c"], points[0]["stage"]) == (17.0, 24.0, "primary")
    for hours in (0, 6, 12):
        assert points[hours * 4]["temp_c"] == pytest.approx(MADE.beer_c[(60 + hours) * 60], abs=0.5)
    widths = [p["high90_c"] - p["low90_c"] for p in (points[0], points[24], points[96])]
    assert widths == sorted(widths)


def test_a_band_that_will_be_left_is_said_with_what_helps(rig: Rig) -> None:
    name = brewed(rig, 20, MADE, plan=tight(MADE.beer_c[20 * 60] + 0.4))

    answer = rig.get(f"/batches/{name}/forecast")
    leave = rig.get(f"/batches/{name}/unattended")

    assert START < datetime.fromisoformat(answer["leaves_band_at"]) < START + timedelta(hours=24)
    assert {"surroundings_c", "wet-cloth", "frozen-bottle"} <= {a["kind"] for a in answer["advice"]}
    assert leave["until"] <= answer["leaves_band_at"]
    assert "too warm" in leave["because"]


@pytest.mark.parametrize("hours", [0, 169, -1])
def test_hours_that_cannot_be_foreseen_are_refused(rig: Rig, hours: int) -> None:
    name = with_batch(rig)

    answer = rig.client.get(f"/api/v1/batches/{name}/forecast", params={"hours": hours})

    assert answer.status_code == 422


def test_without_a_room_probe_the_forecast_says_what_is_missing(rig: Rig) -> None:
    name = brewed(rig, 60, MADE, air=False)

    answer = rig.get(f"/batches/{name}/forecast")
    leave = rig.get(f"/batches/{name}/unattended")

    assert "second-probe" in {a["kind"] for a in answer["advice"]}
    assert len({p["temp_c"] for p in answer["points"]}) == 1
    assert leave["until"] == "2026-11-26T08:00:00Z"
    assert "Without a probe beside" in leave["because"]


def test_without_any_reading_nothing_is_foreseen(rig: Rig) -> None:
    rig.post("/vessels", {"name": "Tub", "volume_l": 10})
    name = rig.post("/batches", {"name": "Blind", "vessel_id": "tub", "plan": PLAN, "og": 1.05})["id"]

    answer = rig.get(f"/batches/{name}/forecast")
    leave = rig.get(f"/batches/{name}/unattended")

    assert (answer["points"], answer["leaves_band_at"]) == ([], None)
    assert [a["kind"] for a in answer["advice"]] == ["no-forecast"]
    assert leave["until"] == "2026-11-25T08:00:00Z"
    assert "no fresh reading" in leave["because"]


def test_hot_wort_may_not_be_left(rig: Rig) -> None:
    mash = {"name": "Mash", "stages": [{"key": "rest", "kind": "mash", "target_c": 67, "lasts_s": 3600}]}
    name = with_batch(rig, mash)

    leave = rig.get(f"/batches/{name}/unattended")

    assert leave["until"] == "2026-11-25T08:00:00Z"
    assert "kettle" in leave["because"]


def in_the_kettle(rig: Rig, kind: str, temps: list[float], **more: object) -> str:
    """A batch whose kettle has had these temperatures, one a minute, until now."""
    began = START - timedelta(minutes=len(temps))
    with_probes(rig, began.isoformat(), air=False)
    write(rig, "beer", temps, minute_of(began))
    stage = {"key": "here", "kind": kind, "lasts_s": 7200, "ends": "brewer", **more}
    body = {"name": "Hot", "vessel_id": "tub", "plan": {"name": "Hot", "stages": [stage]}}
    return str(rig.post("/batches", {**body, "started_at": began.isoformat()})["id"])


def test_wort_in_a_chill_goes_on_along_newtons_curve(rig: Rig) -> None:
    def newton(minutes: float) -> float:
        return 14 + 81 * math.exp(-minutes / 25)

    name = in_the_kettle(rig, "chill", [newton(m) for m in range(20)], target_c=20)

    answer = rig.get(f"/batches/{name}/forecast", hours=2)

    later = answer["points"][6]
    assert len(answer["points"]) == 25
    assert later["low90_c"] <= newton(50) <= later["high90_c"]
    assert later["temp_c"] == pytest.approx(newton(50), abs=2.0)
    assert [a["kind"] for a in answer["advice"]] == ["newton"]
    assert answer["advice"][0]["value"] == pytest.approx(25, abs=4)


def test_a_mash_that_cools_leaves_its_band(rig: Rig) -> None:
    cools = [19 + 48 * math.exp(-m / 300) for m in range(40)]
    name = in_the_kettle(rig, "mash", cools, target_c=64, low_c=60, high_c=68)

    answer = rig.get(f"/batches/{name}/forecast", hours=3)

    # 60 C is reached at 300 ln(48/41) = 47.3 minutes, some 7 from now.
    assert "2026-11-25T08:05:00Z" <= answer["leaves_band_at"] <= "2026-11-25T08:15:00Z"


def test_nothing_is_foreseen_of_a_kettle_that_is_heated(rig: Rig) -> None:
    name = in_the_kettle(rig, "mash", [40 + m * 0.5 for m in range(40)], target_c=64)

    answer = rig.get(f"/batches/{name}/forecast")

    assert answer["points"] == []
    assert answer["advice"][0]["kind"] == "no-forecast"
    assert "does not cool by itself" in answer["advice"][0]["sentence"]


def test_a_prompt_is_when_somebody_must_be_there(rig: Rig) -> None:
    stage = {**PLAN["stages"][0], "prompts": [{"at_s": 70 * 3600, "say": "Dry hops"}]}
    name = brewed(rig, 60, MADE, plan={"name": "Hopped", "stages": [stage]})
    Lookout(rig.desk).look(name)

    leave = rig.get(f"/batches/{name}/unattended")

    assert (leave["until"], leave["because"]) == ("2026-11-25T18:00:00Z", "Dry hops.")


def test_what_custom_asks_of_bottles_keeps_nobody_at_home(rig: Rig) -> None:
    stage = {"key": "bottles", "kind": "condition", "target_c": 20, "lasts_s": 5_184_000, "ends": "brewer"}
    name = brewed(rig, 60, MADE, plan={"name": "Bottled", "stages": [stage]})

    leave = rig.get(f"/batches/{name}/unattended")

    assert "squeeze" not in str(leave)


def test_an_ended_batch_may_be_left_for_ever(rig: Rig) -> None:
    name = with_batch(rig)
    rig.post(f"/batches/{name}/advance", {"to": "end"})

    assert rig.get(f"/batches/{name}/unattended") == {
        "until": None,
        "because": "The batch has ended.",
        "next": [],
    }
    assert rig.get(f"/batches/{name}/forecast")["points"] == []


def test_a_summary_adds_up_the_hours_outside_the_band(rig: Rig) -> None:
    began = START - timedelta(hours=48)
    with_probes(rig, began.isoformat())
    temps = [20.0] * (24 * 60) + [23.0] * (10 * 60) + [20.0] * (14 * 60)
    write(rig, "beer", temps, minute_of(began))
    body = {"name": "Strayed", "vessel_id": "tub", "plan": tight(22.0), "started_at": began.isoformat()}
    name = rig.post("/batches", body)["id"]

    answer = rig.get(f"/batches/{name}/summary")

    assert answer["degree_hours"] == {"warm": 10.0, "cold": 0.0}
    assert (answer["watched_s"], answer["in_band_s"]) == (48 * 3600, 38 * 3600)
    assert answer["in_band_share"] == pytest.approx(38 / 48, abs=1e-3)
    assert [(s["side"], s["worst_c"]) for s in answer["strays"]] == [("warm", 23.0)]
    assert answer["worked_at_c"] is None
    assert (answer["packages"], answer["scores"]) == ([], None)
    assert [g["probe_id"] for g in answer["gaps"]] == ["air"]


def test_a_summary_weighs_temperatures_by_what_fermented_at_them(rig: Rig) -> None:
    name = brewed(rig, 130, MADE)

    answer = rig.get(f"/batches/{name}/summary")

    plain = sum(MADE.beer_c[: 130 * 60]) / (130 * 60)
    warmest = max(MADE.beer_c)
    assert plain + 0.2 < answer["worked_at_c"] < warmest


def test_a_summary_counts_the_warmth_of_the_bottles(rig: Rig) -> None:
    began = START - timedelta(days=10)
    with_probes(rig, began.isoformat())
    write(rig, "beer", [20.0] * (10 * 1440), minute_of(began))
    body = {"name": "Bottled", "vessel_id": "tub", "plan": PLAN, "started_at": began.isoformat()}
    name = rig.post("/batches", body)["id"]
    rig.post(f"/batches/{name}/advance", {"to": "bottles", "at": at(-96)})
    rig.post(
        f"/batches/{name}/packagings",
        {"at": at(-96), "units": [{"kind": "bottle", "size_l": 0.5, "count": 10}]},
    )

    answer = rig.get(f"/batches/{name}/summary")

    assert [p["days_at_20_c"] for p in answer["packages"]] == [4.0]


def test_a_summary_tells_how_long_alarms_waited_for_an_answer(rig: Rig) -> None:
    name = with_batch(rig)
    rig.source.values = dict.fromkeys(rig.source.values, 27.0)
    rig.until(7 * 3600)
    alarm = rig.standing()["above-band"]
    rig.clock.forward(120)
    rig.post(f"/alarms/{alarm['id']}/acknowledge", {})

    told = {a["key"]: a for a in rig.get(f"/batches/{name}/summary")["alarms"]}["above-band"]

    raised = datetime.fromisoformat(told["raised_at"])
    assert told["answered_after_s"] == (rig.clock.now() - raised).total_seconds() > 0


def test_a_batch_just_begun_has_a_summary(rig: Rig) -> None:
    name = with_batch(rig)

    answer = rig.get(f"/batches/{name}/summary")

    assert (answer["watched_s"], answer["in_band_share"]) == (0.0, None)


def test_a_vessel_shows_what_its_batches_taught(rig: Rig) -> None:
    name = brewed(rig, 130, MADE)
    assert rig.get("/vessels/tub")["thermal"] == {
        "tau_h": {"value": None, "low": None, "high": None},
        "learned_from": 0,
    }

    Lookout(rig.desk).look(name)

    thermal = rig.get("/vessels/tub")["thermal"]
    assert thermal["learned_from"] == 1
    # the made vessel has the usual time constant of ten litres
    assert thermal["tau_h"]["low"] < 6.5 * 2 ** (1 / 3) < thermal["tau_h"]["high"]


def test_a_batch_is_told_only_of_batches_that_ended_before_it(rig: Rig) -> None:
    from service.actions.known import known
    from service.record.batches import batch_by_id

    name = brewed(rig, 100, MADE)
    rig.post(f"/batches/{name}/advance", {"to": "end", "at": at(-2)})
    lookout = Lookout(rig.desk)
    assert set(lookout.wanted()) == {name}
    lookout.look(name)
    assert set(lookout.wanted()) == set()
    body = {"vessel_id": "tub", "plan": PLAN, "og": 1.05}
    later = rig.post("/batches", {**body, "name": "Later", "started_at": at(-1)})["id"]
    with rig.record.reading() as connection:
        house = rig.watch.house
        given = [known(connection, house, batch_by_id(connection, b), START) for b in (name, later)]

    assert given[0].vessel is None
    assert given[1].vessel is not None
    assert given[1].vessel.batches == 1


def rehearsed(rig: Rig, **more: Any) -> Any:
    body = {"plan": tight(22.0), "volume_l": 20, "og": 1.05, "pitch_c": 19, "surroundings_c": 20, **more}
    return rig.post("/plans/rehearse", body)


def test_a_rehearsal_shows_where_the_plan_would_stray_and_what_helps(rig: Rig) -> None:
    began = time.perf_counter()

    answer = rehearsed(rig, starts_at="2026-12-01T18:00:00Z")

    assert time.perf_counter() - began < 1.5
    assert set(answer) == {"points", "strays", "unreachable", "advice"}
    assert set(answer["points"][0]) == POINT
    assert answer["points"][0]["at"] == "2026-12-01T18:00:00Z"
    assert answer["points"][0]["temp_c"] == 19.0
    assert answer["strays"][0]["side"] == "warm"
    assert {"from", "to", "side", "worst_c", "stage"} == set(answer["strays"][0])
    assert {"surroundings_c", "ice_kg_per_day"} <= {a["kind"] for a in answer["advice"]}


def test_a_target_that_the_room_cannot_reach_is_named(rig: Rig) -> None:
    lager = {"name": "Cold", "stages": [{"key": "primary", "kind": "primary", "target_c": 10}]}

    answer = rehearsed(rig, plan=lager, pitch_c=10)

    assert answer["unreachable"][0]["stage"] == "primary"
    assert "colder place" in answer["unreachable"][0]["why"]


@pytest.mark.parametrize(
    "room",
    [
        18,
        ROOM,
        {"trace": [18.0] * 48},
        {"trace": [18]},
        {"trace": [{"at": at(0), "temp_c": 18}, {"at": at(48), "temp_c": 18}]},
    ],
)
def test_rooms_are_given_as_a_number_a_swing_or_a_trace(rig: Rig, room: Any) -> None:
    answer = rehearsed(rig, volume_l=5, surroundings_c=room)

    assert answer["points"][-1]["temp_c"] == pytest.approx(18, abs=2.1)


def test_the_vessels_own_room_is_taken_when_none_is_given(rig: Rig) -> None:
    with_probes(rig, at(-72))
    write(rig, "air", [16.0] * (72 * 60), minute_of(START - timedelta(hours=72)))

    answer = rehearsed(rig, vessel_id="tub", volume_l=None, surroundings_c=None)

    assert answer["points"][-1]["temp_c"] == pytest.approx(16, abs=0.5)


def test_the_days_to_brew_on_are_counted_back_from_the_day_it_is_wanted(rig: Rig) -> None:
    free = rehearsed(rig, wanted_at=at(30 * 24))
    away = [{"from": at(24), "to": at(14 * 24)}]
    bound = rehearsed(rig, wanted_at=at(30 * 24), away=away)
    late = rehearsed(rig, wanted_at=at(24))

    days = [[a["sentence"] for a in x["advice"] if a["kind"] == "brew-day"] for x in (free, bound, late)]
    assert len(days[0]) > len(days[1])
    assert "2026-12-01" in days[0][0]
    assert "no day" in days[2][0]


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"plan": None}, "/plan"),
        ({"plan": {"name": "x", "stages": []}}, "/plan/stages"),
        ({"volume_l": None}, "/volume_l"),
        ({"volume_l": -1}, "/volume_l"),
        ({"og": 1.05, "expected_fg": 1.06}, "/expected_fg"),
        ({"surroundings_c": {"mean_c": 18, "warmest_at": "25:00"}}, "/surroundings_c"),
        ({"surroundings_c": None}, "/surroundings_c"),
        ({"surroundings_c": {"trace": []}}, "/surroundings_c"),
        ({"away": [{"from": at(5), "to": at(4)}]}, "/away"),
        ({"colour": "brown"}, "/colour"),
    ],
)
def test_what_is_wrong_with_a_rehearsal_is_named(rig: Rig, more: dict[str, Any], field: str) -> None:
    body = {"plan": PLAN, "volume_l": 20, "surroundings_c": 20, **more}

    answer = rig.client.post("/api/v1/plans/rehearse", json=body)

    assert answer.status_code == 422
    assert any(e["field"].startswith(field) for e in answer.json()["errors"]), answer.text


def test_a_plan_for_the_kettle_alone_has_nothing_to_rehearse(rig: Rig) -> None:
    mash = {"name": "Mash", "stages": [{"key": "rest", "kind": "mash", "target_c": 67, "lasts_s": 3600}]}

    answer = rehearsed(rig, plan=mash)

    assert answer["points"] == []
    assert answer["advice"][0]["kind"] == "nothing-to-rehearse"


def test_a_stored_plan_can_be_rehearsed_and_none_may_take_the_word(rig: Rig) -> None:
    stored = rig.post("/plans", {**PLAN, "name": "Rehearse"})["id"]

    answer = rehearsed(rig, plan=None, plan_id=stored)

    assert stored == "rehearse-2"
    assert answer["points"]
