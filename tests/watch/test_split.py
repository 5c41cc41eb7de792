"""A batch in two vessels: both probes are held against its band, and the record shows both."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from sensors.sample import ProbeId
from tests.rig import PROBE, START, HandClock, HandSource, Rig

OTHER = ProbeId("28-00000a1b2c4f")
PLAN: dict[str, Any] = {
    "name": "Split",
    "stages": [
        {"key": "primary", "kind": "primary", "target_c": 20, "lasts_s": 777600, "ends": "brewer"},
        {"key": "cold", "kind": "crash", "target_c": 4, "lasts_s": 172800, "ends": "brewer"},
    ],
}


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    made = Rig(tmp_path, HandClock(), HandSource({PROBE: 20.0, OTHER: 20.0}), sweep_s=30.0)
    try:
        yield made
    finally:
        made.client.close()
        made.record.close()


@pytest.fixture
def batch(rig: Rig) -> str:
    return split(rig, 20.0)


def split(rig: Rig, other_c: float) -> str:
    """A batch in a bucket at 20 C and a jug."""
    rig.source.values[OTHER] = other_c
    rig.rounds(1)
    for name, probe in (("Bucket", PROBE), ("Jug", OTHER)):
        rig.post("/vessels", {"name": name, "volume_l": 5})
        rig.patch(f"/probes/{probe}", {"vessel_id": name.lower(), "role": "liquid"})
    made = str(rig.post("/batches", {"name": "Split", "vessel_id": "bucket", "plan": PLAN})["id"])
    rig.post(f"/batches/{made}/places", {"vessel_id": "jug", "also": True})
    return made


def strays_at(rig: Rig) -> set[tuple[str, str]]:
    return {
        (a["key"], a["vessel_id"])
        for a in rig.get("/alarms", standing="true")["items"]
        if a["key"] in ("above-band", "below-band", "not-reached") and a["returned_at"] is None
    }


def test_each_vessel_is_held_against_the_band_by_its_own_probe(rig: Rig, batch: str) -> None:
    rig.until(300)
    rig.source.values[OTHER] = 24.0

    rig.until(1200)

    assert strays_at(rig) == {("above-band", "jug")}
    assert [p["vessel_id"] for p in rig.get(f"/batches/{batch}")["places"]] == ["jug", "bucket"]


def test_the_first_vessel_is_still_watched(rig: Rig, batch: str) -> None:
    rig.until(300)
    rig.source.values[PROBE] = 15.0

    rig.until(1200)

    assert strays_at(rig) == {("below-band", "bucket")}


def test_what_a_vessel_reached_is_remembered_for_each_by_itself(rig: Rig) -> None:
    split(rig, 24.0)
    rig.until(1200)
    held = strays_at(rig)
    rig.source.values[OTHER] = 20.0
    rig.until(300)
    rig.watch.stop()
    rig.watch = rig._watch()
    rig.watch.start()
    rig.source.values[OTHER] = 24.0

    rig.until(1200)

    assert held == set()
    assert strays_at(rig) == {("above-band", "jug")}


def test_a_stage_asks_once_and_not_for_each_vessel(rig: Rig, batch: str) -> None:
    rig.clock.forward(777700)
    rig.until(60)

    due = [a for a in rig.get("/alarms", standing="true")["items"] if a["key"] == "stage-due"]

    assert [a["vessel_id"] for a in due] == ["bucket"]


def test_the_record_counts_and_shows_both(rig: Rig, batch: str) -> None:
    rig.source.values[OTHER] = 24.0
    rig.until(3600)

    series = rig.get(f"/batches/{batch}/series")
    looked = rig.get(f"/batches/{batch}/summary")
    record = rig.get(f"/batches/{batch}/record.json")

    assert {p["probe_id"] for p in series["probes"]} == {PROBE, OTHER}
    assert {s["vessel_id"] for s in looked["strays"]} == {"jug"}
    assert looked["watched_s"] == pytest.approx(7200, abs=240)
    assert looked["in_band_share"] == pytest.approx(0.5, abs=0.02)
    assert {m["vessel_id"] for m in record["minutes"]} == {"bucket", "jug"}
    assert {v["id"] for v in record["vessels"]} == {"bucket", "jug"}


def test_one_vessel_is_emptied_and_not_watched_any_more(rig: Rig, batch: str) -> None:
    rig.until(300)
    rig.source.values[OTHER] = 24.0
    rig.until(1200)

    answer = rig.patch(f"/batches/{batch}/places/2", {})
    rig.until(120)
    after = strays_at(rig)
    undone = rig.post(f"/batches/{batch}/undo")

    assert [(p["vessel_id"], p["to"] is None) for p in answer["places"]] == [("jug", False), ("bucket", True)]
    assert after == set()
    assert [p["to"] for p in undone["places"]] == [None, None]


def test_a_part_moves_on_and_the_end_ends_both(rig: Rig, batch: str) -> None:
    rig.until(120)
    rig.post("/vessels", {"name": "Keg", "kind": "keg"})
    moved = rig.post(f"/batches/{batch}/places", {"vessel_id": "keg", "leaves": "jug"})
    rig.clock.forward(60)
    ended = rig.post(f"/batches/{batch}/advance", {"to": "end"})

    assert {p["vessel_id"] for p in moved["places"] if p["to"] is None} == {"bucket", "keg"}
    assert all(p["to"] is not None for p in ended["places"])


def test_the_only_vessel_cannot_be_emptied(rig: Rig, batch: str) -> None:
    rig.until(120)
    rig.patch(f"/batches/{batch}/places/1", {})

    rig.patch(f"/batches/{batch}/places/2", {}, expect=409)
    rig.patch(f"/batches/{batch}/places/9", {}, expect=404)
    rig.patch(f"/batches/{batch}/places/2", {"to": (START + timedelta(days=9)).isoformat()}, expect=422)


def test_another_batch_cannot_take_either_vessel(rig: Rig, batch: str) -> None:
    body = {"name": "Other", "plan": PLAN}

    for vessel in ("bucket", "jug"):
        rig.post("/batches", {**body, "vessel_id": vessel}, expect=409)
