import json
from typing import Any

import pytest

from service.record.minutes import minutes_of
from tests.rig import Rig


def pushed(rig: Rig, *samples: dict[str, Any]) -> dict[str, Any]:
    """Send samples; returns the receipt."""
    answer: dict[str, Any] = rig.post("/probes/cupboard-air/samples", {"samples": list(samples)})
    return answer


@pytest.fixture
def air(rig: Rig) -> Rig:
    """A rig with a declared probe that is pushed to."""
    rig.rounds(1)
    rig.post("/probes", {"label": "Cupboard air", "source": "pushed", "interval_s": 60})
    return rig


def minutes(rig: Rig) -> list[tuple[int, int]]:
    with rig.record.reading() as connection:
        return [(row.mean_mc, row.count) for row in minutes_of(connection, 2, 0, 2**31)]


def test_samples_are_stored_before_the_answer(air: Rig) -> None:
    receipt = pushed(
        air,
        {"at": "2026-11-25T08:00:00Z", "temp_c": 19.0},
        {"at": "2026-11-25T09:00:10+01:00", "temp_c": 20.0},
    )

    assert receipt == {"new": 2, "known": 0, "refused": []}
    assert minutes(air) == [(19500, 2)]
    assert air.get("/probes/cupboard-air")["last"]["temp_c"] == 20.0


def test_a_repeat_changes_nothing(air: Rig) -> None:
    sample = {"at": "2026-11-25T08:00:00Z", "temp_c": 19.0}
    pushed(air, sample)

    receipt = pushed(air, sample)

    assert receipt == {"new": 0, "known": 1, "refused": []}
    assert minutes(air) == [(19000, 1)]


def test_every_item_is_judged_by_itself(air: Rig) -> None:
    pushed(air, {"at": "2026-11-25T08:00:00Z", "temp_c": 19.0})
    raw = (
        '{"samples": [{"at": "2026-11-25T08:00:00Z", "temp_c": 25.0},'
        '{"at": "2026-11-25T08:20:00Z", "temp_c": 19.0},'
        '{"at": "2026-11-25T08:00:05Z", "temp_c": NaN}, {"at": "2026-11-25T08:00:06Z", "temp_c": 1e400},'
        '{"at": "2026-11-25T08:00:07Z", "temp_c": "19"}, {"at": "2026-11-25T08:00:08Z", "temp_c": 300},'
        '{"at": "2026-11-25T08:00:09Z", "temp_c": 19.5}]}'
    )

    answer = air.client.post(
        "/api/v1/probes/cupboard-air/samples", content=raw, headers={"content-type": "application/json"}
    )

    assert answer.status_code == 200
    assert answer.json() == {
        "new": 1,
        "known": 0,
        "refused": [
            {"index": 0, "reason": "conflict"},
            {"index": 1, "reason": "future"},
            {"index": 2, "reason": "not-a-number"},
            {"index": 3, "reason": "not-a-number"},
            {"index": 4, "reason": "not-a-number"},
            {"index": 5, "reason": "out-of-range"},
        ],
    }
    assert minutes(air) == [(19250, 2)]


@pytest.mark.parametrize(
    "sample",
    [{"at": "2026-11-25T08:00:00", "temp_c": 1}, {"temp_c": 1}, {"at": "2026-11-25T08:00:00Z"}, {"x": 1}],
)
def test_an_item_without_time_or_value_refuses_the_whole(air: Rig, sample: dict[str, Any]) -> None:
    good = {"at": "2026-11-25T08:00:00Z", "temp_c": 19.0}

    body = air.post("/probes/cupboard-air/samples", {"samples": [good, sample]}, expect=422)

    assert body["errors"][0]["field"].startswith("/samples/1")
    assert minutes(air) == []


def test_a_week_that_was_buffered_is_stored_at_its_own_time_and_wakes_nobody(air: Rig) -> None:
    air.post("/vessels", {"name": "Bucket"})
    old = [
        {"at": f"2026-11-{18 + n // 24:02d}T{n % 24:02d}:00:00Z", "temp_c": 18.0 + n / 100}
        for n in range(168)
    ]

    receipt = pushed(air, *old)

    assert receipt["new"] == 168
    assert len(minutes(air)) == 168
    assert air.get("/probes/cupboard-air")["last"] is None
    assert air.standing() == {}


def test_a_probe_that_is_read_here_takes_no_pushed_samples(air: Rig) -> None:
    air.post("/probes/28-00000a1b2c3d/samples", {"samples": []}, expect=409)


def test_more_than_ten_thousand_samples_are_refused(air: Rig) -> None:
    samples = [{"at": "2026-11-25T08:00:00Z", "temp_c": 19.0}] * 10_001

    body = air.client.post(
        "/api/v1/probes/cupboard-air/samples",
        content=json.dumps({"samples": samples}, separators=(",", ":")),
        headers={"content-type": "application/json"},
    )

    assert body.status_code in (413, 422)
    assert minutes(air) == []
