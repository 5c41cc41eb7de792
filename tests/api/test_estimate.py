"""Estimates over HTTP: the worker really runs."""

from datetime import timedelta
from typing import Any

import pytest

from tests.actions.brewed import brewed, write
from tests.rig import START, Rig, with_batch
from tests.thermal.build import batch

MADE = batch(100)
SHAPE = {
    "gravity": {"sg", "low", "high"},
    "share": {"value", "low", "high"},
    "rate_pt_per_day": {"value", "low", "high"},
    "finish": {"at", "low", "high"},
    "heat_w": {"value", "low", "high"},
    "weights": {"normal", "stopped-early", "not-started"},
    "fit": {"residual_c", "tau_h", "minutes_used", "readings_used"},
}


def in_shape(answer: dict[str, Any]) -> bool:
    """Whether every member of the contract is there, and no other."""
    return set(answer) == {*SHAPE, "at", "verdict", "evidence"} and all(
        set(answer[name]) == members for name, members in SHAPE.items()
    )


def test_an_estimate_says_how_far_the_beer_is_and_its_interval_holds_the_truth(rig: Rig) -> None:
    made = batch(60)
    name = brewed(rig, 48, made)

    answer = rig.get(f"/batches/{name}/estimate")

    assert in_shape(answer)
    assert answer["at"] == "2026-11-25T08:00:00Z"
    assert answer["verdict"] in ("working", "slowing")
    assert answer["gravity"]["low"] <= made.sg[48] <= answer["gravity"]["high"]
    assert answer["fit"]["minutes_used"] > 2000
    assert answer["evidence"]


def test_a_past_moment_knows_nothing_of_what_came_after_it(rig: Rig) -> None:
    name = brewed(rig, 100, MADE)
    at = (START - timedelta(hours=60)).isoformat()
    before = rig.get(f"/batches/{name}/estimate", at=at)

    rig.post(f"/batches/{name}/readings", {"sg": 1.009})
    write(rig, "beer", [30.0] * 600, 29_750_000)
    after = rig.get(f"/batches/{name}/estimate", at=at)

    assert before == after
    assert before["gravity"]["sg"] > rig.get(f"/batches/{name}/estimate")["gravity"]["sg"] + 0.005


def test_a_reading_of_an_earlier_time_counts_whenever_it_arrives(rig: Rig) -> None:
    name = brewed(rig, 100, MADE)
    before = rig.get(f"/batches/{name}/estimate")

    rig.post(f"/batches/{name}/readings", {"sg": 1.012, "at": (START - timedelta(hours=5)).isoformat()})
    after = rig.get(f"/batches/{name}/estimate")

    assert (before["fit"]["readings_used"], after["fit"]["readings_used"]) == (0, 1)
    assert after["gravity"]["high"] - after["gravity"]["low"] < 0.8 * (
        before["gravity"]["high"] - before["gravity"]["low"]
    )


@pytest.mark.parametrize(
    ("more", "air", "words"),
    [
        ({"og": None}, True, "original gravity"),
        ({}, False, "second probe"),
    ],
)
def test_what_is_missing_is_said_and_no_gravity_is_made_up(
    rig: Rig, more: dict[str, Any], air: bool, words: str
) -> None:
    name = brewed(rig, 60, MADE, air=air, **more)

    answer = rig.get(f"/batches/{name}/estimate")

    assert in_shape(answer)
    assert answer["gravity"] == {"sg": None, "low": None, "high": None}
    assert words in " ".join(answer["evidence"])


def test_without_a_volume_there_is_no_gravity(rig: Rig) -> None:
    name = brewed(rig, 60, MADE)
    rig.patch("/vessels/tub", {"volume_l": None})
    rig.patch(f"/batches/{name}", {"volume_l": None})

    answer = rig.get(f"/batches/{name}/estimate")

    assert answer["gravity"]["sg"] is None
    assert "volume" in " ".join(answer["evidence"])


def test_probes_that_were_exchanged_are_disturbed(rig: Rig) -> None:
    name = brewed(rig, 60, MADE)
    began = (START - timedelta(hours=60)).isoformat()
    for probe in ("beer", "air"):
        rig.patch(f"/probes/{probe}", {"vessel_id": None, "role": None, "from": began})
    for probe, role in (("beer", "surroundings"), ("air", "liquid")):
        rig.patch(f"/probes/{probe}", {"vessel_id": "tub", "role": role, "from": began})

    answer = rig.get(f"/batches/{name}/estimate")

    assert answer["verdict"] in ("disturbed", "unknown")
    assert answer["gravity"]["sg"] is None


def test_a_batch_without_yeast_or_data_waits(rig: Rig) -> None:
    name = with_batch(rig, og=1.045)

    answer = rig.get(f"/batches/{name}/estimate")

    assert in_shape(answer)
    assert answer["verdict"] in ("waiting", "unknown")


def test_a_batch_left_for_months_still_knows_its_fermentation(rig: Rig) -> None:
    name = brewed(rig, 140, batch(140))
    rig.clock.forward(60 * 86400)

    answer = rig.get(f"/batches/{name}/estimate")

    assert answer["fit"]["minutes_used"] > 7000
    assert "hours old" in " ".join(answer["evidence"])


def test_a_coming_time_is_refused(rig: Rig) -> None:
    name = with_batch(rig)

    answer = rig.client.get(
        f"/api/v1/batches/{name}/estimate", params={"at": (START + timedelta(hours=1)).isoformat()}
    )

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "/at"


def test_there_is_none_of_a_batch_that_does_not_exist(rig: Rig) -> None:
    assert rig.client.get("/api/v1/batches/none/estimate").status_code == 404
