"""Batches side by side."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from service.record.minutes import MinuteRow, write_minutes
from service.watch.fold import minute_of
from tests.rig import PLAN, PROBE, START, Rig, rig_in

HOURS = 60


def brewed(rig: Rig, name: str, target_c: float, at: Any, warm: list[float], **more: Any) -> str:
    """A batch of this temperature by the hour from `at` on, that ended after those."""
    plan = {**PLAN, "stages": [{**PLAN["stages"][0], "target_c": target_c, "low_c": 18, "high_c": 21}]}
    body = {"name": name, "vessel_id": "bucket", "plan": plan, "started_at": at.isoformat(), **more}
    batch = str(rig.post("/batches", body)["id"])
    first = minute_of(at)
    rows = [MinuteRow(1, first + n, round(1000 * warm[n // 60]), 0, 0, 6) for n in range(60 * len(warm))]
    rig.record.write(lambda connection: write_minutes(connection, rows))
    ended = (at + timedelta(hours=len(warm))).isoformat()
    rig.post(f"/batches/{batch}/readings", {"sg": 1.012, "at": ended})
    rig.post(f"/batches/{batch}/advance", {"to": "end", "at": ended})
    return batch


@pytest.fixture
def two(tmp_path: Path) -> Any:
    with rig_in(tmp_path) as rig:
        rig.watch.round()
        rig.post("/vessels", {"name": "Bucket", "volume_l": 5})
        long_ago = (START - timedelta(days=40)).isoformat()
        rig.patch(f"/probes/{PROBE}", {"vessel_id": "bucket", "role": "liquid", "from": long_ago})
        cool = brewed(rig, "Cool", 19, START - timedelta(days=30), [19.0] * HOURS, og=1.048)
        warm = [20.0 + n / 20 for n in range(HOURS)]
        other = brewed(rig, "Warm", 20, START - timedelta(days=20, minutes=-17), warm, og=1.052)
        yield rig, cool, other


def test_batches_are_aligned_at_pitching_whatever_the_clock_said(two: Any) -> None:
    rig, cool, other = two

    found = rig.get("/batches/compare", ids=f"{cool},{other}")

    curves = {
        (c["batch_id"], c["role"]): dict(zip(found["hours"], c["mean_c"], strict=True))
        for c in found["curves"]
    }
    assert [b["aligned_by"] for b in found["batches"]] == ["pitching", "pitching"]
    assert [curves[cool, "liquid"][h] for h in range(HOURS)] == [19.0] * HOURS
    for hour in range(1, HOURS - 1):
        assert curves[other, "liquid"][hour] == pytest.approx(20.0 + hour / 20, abs=0.05)
    assert set(curves[cool, "surroundings"].values()) == {None}


def test_the_table_tells_what_differed(two: Any) -> None:
    rig, cool, other = two

    found = rig.get("/batches/compare", ids=f"{cool},{other}")

    table = {d["what"]: d for d in found["differences"]}
    assert table["original gravity"]["values"] == [1.048, 1.052]
    assert table["original gravity"]["spread"] == 0.004
    assert table["vessel"] == {
        "what": "vessel",
        "unit": None,
        "values": ["Bucket", "Bucket"],
        "spread": None,
        "same": True,
    }
    assert table["target of primary"]["values"] == ["19 C", "20 C"]
    assert table["days in primary"]["values"] == [2.5, 2.5]
    assert table["warmest hour until packaging"]["values"] == [19.0, pytest.approx(22.95, abs=0.05)]
    assert table["mean until packaging"]["values"] == [19.0, pytest.approx(21.47, abs=0.05)]
    assert table["share of the time in the band"]["values"] == [100.0, pytest.approx(35.0, abs=2)]
    assert table["alcohol by volume"]["values"][1] > table["alcohol by volume"]["values"][0] > 4
    assert table["yeast"]["values"] == [None, None]
    assert table["month of pitching"]["values"] == ["October", "November"]


@pytest.mark.parametrize("ids", ["", "a", "a,a", "a,b,c,d,e,f,g"])
def test_fewer_than_two_or_more_than_six_are_refused(rig: Rig, ids: str) -> None:
    answer = rig.client.get("/api/v1/batches/compare", params={"ids": ids})

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "/ids"


def test_a_batch_that_is_not_there_is_a_404(rig: Rig) -> None:
    assert rig.client.get("/api/v1/batches/compare", params={"ids": "a,b"}).status_code == 404
    assert rig.client.get("/api/v1/batches/compare").status_code == 422


def test_batches_without_anything_recorded_are_compared_too(rig: Rig) -> None:
    rig.post("/vessels", {"name": "Bucket"})
    rig.post("/vessels", {"name": "Other"})
    ids = [rig.post("/batches", {"name": v, "vessel_id": v, "plan": PLAN})["id"] for v in ("bucket", "other")]

    found = rig.get("/batches/compare", ids=",".join(ids))

    assert found["hours"] == []
    assert {d["what"]: d["values"] for d in found["differences"]}["mean until packaging"] == [None, None]
