"""The word that the beer is really cold: by its own rate and the vessel's time constant, once."""

import math
from typing import Any

import pytest

from service.watch.cold import left_to_come_c
from service.watch.evidence import Insight
from service.watch.judge import time_constant_h
from tests.rig import PROBE, Rig, with_batch

PLAN: dict[str, Any] = {
    "name": "Cold",
    "stages": [
        {"key": "primary", "kind": "primary", "target_c": 20, "lasts_s": 864000, "ends": "brewer"},
        {"key": "cold", "kind": "crash", "target_c": 4, "lasts_s": 172800, "ends": "brewer"},
    ],
}


def cold_words(rig: Rig) -> list[dict[str, Any]]:
    return [a for a in rig.get("/alarms", standing="true")["items"] if "really cold" in a["reason"]]


def cool(rig: Rig, hours: float, since_h: float, tau_h: float) -> None:
    """Beer that falls from 20 C towards 3 C by Newton's law."""
    for minute in range(round(hours * 60)):
        at_h = since_h + minute / 60
        rig.source.values[PROBE] = round((3 + 17 * math.exp(-at_h / tau_h)) * 16) / 16
        rig.rounds(1)


@pytest.fixture
def cooling(rig: Rig) -> tuple[Rig, str]:
    rig.sweep_s = 60.0
    batch = with_batch(rig, PLAN)
    rig.post(f"/batches/{batch}/advance", {"to": "cold"})
    return rig, batch


def test_what_is_left_is_the_rate_times_the_time_constant() -> None:
    # Newton's law of cooling: dT/dt = -(T - T_room) / tau, so T - T_room = tau x rate
    tau_h, apart_c = 6.5, 3.7

    assert left_to_come_c(-apart_c / tau_h, tau_h) == pytest.approx(apart_c)


def test_it_is_said_once_when_less_than_a_degree_is_left(cooling: tuple[Rig, str]) -> None:
    rig, batch = cooling
    tau_h = time_constant_h(5.0)
    to_one_degree_h = tau_h * math.log(17.0)

    cool(rig, to_one_degree_h - 2, 0, tau_h)
    before = cold_words(rig)
    cool(rig, 3.5, to_one_degree_h - 2, tau_h)
    told = cold_words(rig)
    rig.post(f"/alarms/{told[0]['id']}/acknowledge", {})
    cool(rig, 1, to_one_degree_h + 1.5, tau_h)
    after = cold_words(rig)
    rig.post(f"/batches/{batch}/advance", {"to": "end"})
    rig.rounds(2)

    assert before == []
    assert [(a["key"], a["priority"]) for a in told] == [("stage-due", "low")]
    assert "time constant of 6 h" in told[0]["reason"] or "time constant of 7 h" in told[0]["reason"]
    assert [a["id"] for a in after] == [told[0]["id"]]
    assert cold_words(rig) == []


def test_a_beer_that_is_cold_on_the_thermometer_but_still_falling_is_not(cooling: tuple[Rig, str]) -> None:
    rig, _ = cooling

    for minute in range(90):
        rig.source.values[PROBE] = round((5.9 - minute / 60) * 16) / 16
        rig.rounds(1)

    assert (rig.source.values[PROBE] or 9.0) < 5.0
    assert cold_words(rig) == []


def test_a_learned_time_constant_goes_before_that_of_the_vessels_size(cooling: tuple[Rig, str]) -> None:
    rig, batch = cooling
    rig.watch.tell_insight(batch, Insight(tau_h=40.0))
    tau_h = time_constant_h(5.0)

    cool(rig, tau_h * math.log(17.0) + 1.5, 0, tau_h)

    assert cold_words(rig) == []
