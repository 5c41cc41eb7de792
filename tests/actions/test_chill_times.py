"""Times to the steep and to pitching, from the wort's own fall; baths by Newton's law, made by hand."""

import math
from datetime import datetime
from typing import Any

import pytest

from sensors.sample import ProbeId
from tests.rig import PROBE, Rig, with_batch

PLAN: dict[str, Any] = {
    "name": "Sink chill",
    "stages": [
        {"key": "to-steep", "kind": "chill", "target_c": 80, "ends": "brewer"},
        {"key": "steep", "kind": "steep", "target_c": 78, "lasts_s": 1200, "ends": "brewer"},
        {"key": "to-pitch", "kind": "chill", "target_c": 19, "ends": "brewer"},
        {"key": "primary", "kind": "primary", "target_c": 20, "lasts_s": 777600, "ends": "steady-gravity"},
    ],
}


class Bath:
    """A wort that falls toward a bath by Newton's law while the watch goes round."""

    def __init__(self, rig: Rig, from_c: float) -> None:
        self.rig = rig
        self.temp_c = from_c
        rig.source.values[ProbeId(PROBE)] = from_c

    def fall(self, bath_c: float, tau_s: float, minutes: float) -> None:
        """Let it fall for so many minutes."""
        for _ in range(round(minutes * 60 / self.rig.sweep_s)):
            self.rig.rounds(1)
            self.temp_c = bath_c + (self.temp_c - bath_c) * math.exp(-self.rig.sweep_s / tau_s)
            self.rig.source.values[ProbeId(PROBE)] = round(self.temp_c * 16) / 16


def chilling(rig: Rig, from_c: float = 95.0) -> Bath:
    """A batch that has just begun to be chilled."""
    bath = Bath(rig, from_c)
    with_batch(rig, PLAN, og=1.048, volume_l=5)
    return bath


def asked(rig: Rig, **more: Any) -> Any:
    batch_id = rig.get("/batches")["items"][0]["id"]
    return rig.get(f"/batches/{batch_id}/cooling", **more)


def minutes_until(answer: Any, temp_c: float) -> float:
    """By the answer, from its newest sample on."""
    target = next(one for one in answer["targets"] if one["temp_c"] == temp_c)
    return (datetime.fromisoformat(target["at"]) - datetime.fromisoformat(answer["at"])).total_seconds() / 60


def test_the_times_to_the_coming_stages_are_those_of_the_law(rig: Rig) -> None:
    bath = chilling(rig)

    bath.fall(12, 1500, 3)
    found = asked(rig)

    assert [(one["stage"], one["temp_c"], one["reachable"]) for one in found["targets"]] == [
        ("to-steep", 80.0, True),
        ("steep", 78.0, True),
        ("to-pitch", 19.0, True),
    ]
    expected = 25 * math.log((bath.temp_c - 12) / (19 - 12))
    target = next(one for one in found["targets"] if one["stage"] == "to-pitch")
    low, high = (
        (datetime.fromisoformat(target[end]) - datetime.fromisoformat(found["at"])).total_seconds() / 60
        if target[end]
        else math.inf
        for end in ("low", "high")
    )
    assert low <= expected <= high
    assert not found["bath_measured"]


def test_later_on_the_time_to_pitching_is_sharp(rig: Rig) -> None:
    bath = chilling(rig)

    bath.fall(12, 1500, 35)

    expected = 25 * math.log((bath.temp_c - 12) / (19 - 12))
    assert minutes_until(asked(rig), 19) == pytest.approx(expected, abs=3)


def test_after_fresh_water_only_the_new_curve_counts(rig: Rig) -> None:
    bath = chilling(rig)
    bath.fall(45, 1500, 25)

    bath.fall(8, 1500, 14)
    found = asked(rig)

    expected = 25 * math.log((bath.temp_c - 8) / (19 - 8))
    assert minutes_until(found, 19) == pytest.approx(expected, abs=8)
    begun = datetime.fromisoformat(found["at"]) - datetime.fromisoformat(found["curve_from"])
    assert 600 <= begun.total_seconds() <= 960


def test_a_bath_that_is_too_warm_is_told_and_how_much_ice_it_would_take(rig: Rig) -> None:
    bath = chilling(rig)

    bath.fall(30, 900, 40)
    found = asked(rig)

    pitch = next(one for one in found["targets"] if one["temp_c"] == 19)
    assert (pitch["reachable"], pitch["at"]) == (False, None)
    assert pitch["ice_kg"] == pytest.approx(5 * 1.048 * 3.95 * (found["temp_c"] - 19) / 413.4, rel=0.01)
    assert "19 C is not reached without fresh water or ice" in found["sentence"]


def test_with_the_bath_and_the_tap_told_it_says_when_fresh_water_pays(rig: Rig) -> None:
    bath = chilling(rig)

    bath.fall(30, 900, 20)
    found = asked(rig, bath_l=12, fresh_c=12)

    assert found["fresh_water"]["pays"]
    assert found["fresh_water"]["fills_needed"] >= 1


def test_one_of_bath_and_tap_alone_is_refused(rig: Rig) -> None:
    chilling(rig).fall(30, 900, 5)

    batch_id = rig.get("/batches")["items"][0]["id"]
    answer = rig.client.get(f"/api/v1/batches/{batch_id}/cooling", params={"bath_l": 12})

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "/fresh_c"


def test_too_early_it_says_what_it_waits_for(rig: Rig) -> None:
    bath = chilling(rig)

    bath.fall(12, 1500, 0.3)
    found = asked(rig)

    assert found["targets"] == []
    assert found["sentence"] == "There are fewer than four samples over time. Wait for a few more."


def test_outside_the_kettle_nothing_is_chilled(rig: Rig) -> None:
    bath = chilling(rig)
    bath.fall(12, 1500, 5)
    batch_id = rig.get("/batches")["items"][0]["id"]

    rig.post(f"/batches/{batch_id}/advance", {"to": "primary"})

    assert asked(rig)["sentence"] == "Nothing is being chilled in this stage."
