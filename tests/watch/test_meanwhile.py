"""After a power cut: how long nobody watched, and what was measured at both ends of the gap."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from sensors.sample import ProbeId
from service.record.estimates import keep_estimate
from service.thermal.forecast import Coefficients
from service.watch.meanwhile import Ends, between
from tests.rig import PROBE, START, Rig, rig_in, with_batch

ROOM = ProbeId("28-0000000000aa")
THERMAL: dict[str, Any] = {
    "tau_h": 10.0,
    "tau_spread_ln": 0.1,
    "excess_c": 0.0,
    "excess_spread_c": 0.1,
    "share_seen": 0.0,
    "heat_w": [0.0],
    "heat_spread": 0.1,
    "peak_w": 0.0,
}


def test_after_a_gap_the_measured_ends_are_said(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        with_batch(first)
        first.until(300)
        first.watch.stop()
        clock = first.clock
    clock.forward(3 * 3600)
    with rig_in(tmp_path, 20.5, clock) as second:
        second.rounds(2)

        reason = second.standing()["was-down"]["reason"]
        assert reason == "nobody watched for 3 h; Bucket measured 20.0 C before and 20.5 C after"


def test_what_is_not_measured_after_the_gap_is_not_said(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        with_batch(first)
        first.until(300)
        first.watch.stop()
        clock = first.clock
    clock.forward(3 * 3600)
    with rig_in(tmp_path, None, clock) as second:
        second.source.values[PROBE] = None
        second.rounds(2)

        assert second.standing()["was-down"]["reason"] == "nobody watched for 3 h"


@pytest.mark.parametrize(
    ("heat_w", "age_h", "told"),
    [
        # Room at the beer's 20 C, both ends 20 C, no heat: nothing happens.
        ([0.0], 0, " (modelled: about 20.0 C in between)"),
        # Heat in the first hours only: the beer was warmer in between than at either end. By hand: 6 W in
        # 5 L (5.9 Wh/K) for two hours and falling in the third are 2.5 K, 0.3 K of it lost to the room;
        # of the 1.15 K left at the end a third of the way's share, 0.35 K, was not measured.
        ([6.0, 6.0, 6.0, 0.0], 0, " (modelled: 20.0 C to 21.9 C in between, warmest about 10:50)"),
        # The same estimate, made so long before the gap that it says nothing of it.
        ([6.0, 6.0, 6.0, 0.0], 7, ""),
    ],
)
def test_an_estimate_from_before_the_gap_tells_what_the_beer_did_marked_as_modelled(
    tmp_path: Path, heat_w: list[float], age_h: float, told: str
) -> None:
    with rig_in(tmp_path) as first:
        first.source.values[ROOM] = 20.0
        batch_id = with_batch(first)
        first.patch(f"/probes/{ROOM}", {"vessel_id": "bucket", "role": "surroundings"})
        estimated(first, batch_id, heat_w)
        first.clock.forward(age_h * 3600)
        first.until(300)
        first.watch.stop()
        clock = first.clock
    clock.forward(9 * 3600)
    with rig_in(tmp_path, 20.0, clock) as second:
        second.source.values[ROOM] = 20.0
        second.rounds(2)

        reason = second.standing()["was-down"]["reason"]
        assert reason == f"nobody watched for 9 h; Bucket measured 20.0 C before and 20.0 C after{told}"


@pytest.mark.parametrize(
    "body", [{}, {"verdict": "waiting", "share": None}, {"at": 7}, {"fit": {"tau_h": 1}}]
)
def test_an_estimate_that_cannot_be_read_keeps_nobody_from_watching(
    tmp_path: Path, body: dict[str, Any]
) -> None:
    with rig_in(tmp_path) as first:
        batch_id = with_batch(first)
        first.until(300)
        first.record.write(lambda c: keep_estimate(c, batch_id, first.clock.at, body))
        first.watch.stop()
        clock = first.clock
    clock.forward(9 * 3600)
    with rig_in(tmp_path, 20.0, clock) as second:
        second.rounds(2)

        reason = second.standing()["was-down"]["reason"]
        assert reason == "nobody watched for 9 h; Bucket measured 20.0 C before and 20.0 C after"


def estimated(rig: Rig, batch_id: str, heat_w: list[float]) -> None:
    at = rig.clock.at
    body = {"at": at.isoformat(), "verdict": "working", "thermal": {**THERMAL, "heat_w": heat_w}}
    rig.record.write(lambda c: keep_estimate(c, batch_id, at, body))


def test_the_model_of_a_gap_follows_newton_and_meets_both_measured_ends() -> None:
    # Newton: from 30 C in air of 20 C with 10 h, after 10 h 20 + 10 / e = 23.679 C.
    c = Coefficients(10.0, 0.1, 0.0, 0.1, (), 0.0)
    back = START + timedelta(hours=10)

    as_it_says = between(c, Ends(30.0, 23.679), Ends(20.0, 20.0), START, back)
    warmer_end = between(c, Ends(30.0, 24.679), Ends(20.0, 20.0), START, back)

    assert as_it_says.low_c == pytest.approx(23.679, abs=0.001)
    assert (as_it_says.high_c, as_it_says.warmest_at) == (30.0, START)
    assert warmer_end.low_c == pytest.approx(24.679, abs=0.001)


def test_the_model_of_a_gap_finds_the_warmest_time_inside_it() -> None:
    c = Coefficients(10.0, 0.1, 0.0, 0.1, (1.0, 1.0, 0.0), 0.0)

    found = between(c, Ends(20.0, 20.0), Ends(20.0, 20.0), START, START + timedelta(hours=12))

    assert found.low_c == pytest.approx(20.0)
    assert found.high_c > 20.5
    assert START < found.warmest_at < START + timedelta(hours=4)
