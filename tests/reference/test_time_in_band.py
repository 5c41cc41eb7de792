"""Time in band and degree-hours against a plain numpy computation on the raw samples.

The record keeps minutes and cuts a ramp into pieces, so the two may differ where a sample lies closer to the
edge than half a piece, or where the samples of one minute lie on both sides. All other time must agree.
"""

from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.rig import START, rig_in

EVERY_S = 20
DAYS = 2
PIECE_C = 2.0 / 48
PLAN: dict[str, Any] = {
    "name": "Ramped",
    "stages": [
        {
            "key": "primary",
            "kind": "primary",
            "target_c": {"from": 18, "to": 20, "over_s": 86400},
            "low_c": -0.8,
            "high_c": 0.6,
            "band": "relative",
            "lasts_s": 864000,
            "ends": "brewer",
        }
    ],
}


def walked(seed: int) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Seconds from the start and a beer that wanders about the ramp, with an hour missing."""
    chance = np.random.default_rng(seed)
    t = np.arange(0, DAYS * 86400, EVERY_S, dtype=float)
    slow = np.cumsum(chance.normal(0, 0.012, t.size))
    target = 18 + 2 * np.clip(t / 86400, 0, 1)
    temps = np.round(target + slow - slow.mean() + 0.9 * np.sin(t / 9000), 3)
    kept = (t < 30 * 3600) | (t >= 31 * 3600)
    return t[kept], temps[kept]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_time_in_band_is_what_numpy_counts_on_the_raw_samples(seed: int, tmp_path: Path) -> None:
    t, temps = walked(seed)
    began = START - timedelta(days=DAYS)
    with rig_in(tmp_path) as rig:
        rig.post("/vessels", {"name": "Tub", "volume_l": 10})
        rig.post("/probes", {"label": "Beer", "interval_s": EVERY_S})
        rig.patch("/probes/beer", {"vessel_id": "tub", "role": "liquid", "from": began.isoformat()})
        body = {"name": "Walk", "vessel_id": "tub", "plan": PLAN, "started_at": began.isoformat()}
        batch = rig.post("/batches", body)["id"]
        samples = [
            {"at": (began + timedelta(seconds=float(s))).isoformat(), "temp_c": float(c)}
            for s, c in zip(t, temps, strict=True)
        ]
        rig.post("/probes/beer/samples", {"samples": samples})
        told = rig.get(f"/batches/{batch}/summary")

    target = 18 + 2 * np.clip(t / 86400, 0, 1)
    over, under = temps - (target + 0.6), (target - 0.8) - temps
    inside = (over <= 0) & (under <= 0)
    minute = (t // 60).astype(int)
    near = (np.abs(over) <= PIECE_C) | (np.abs(under) <= PIECE_C)
    mixed = np.zeros(t.size, dtype=bool)
    for m in np.unique(minute):
        mine = minute == m
        mixed[mine] = near[mine].any() or inside[mine].any() != inside[mine].all()
    doubtful_s = float(mixed.sum() * EVERY_S)

    assert told["watched_s"] == t.size * EVERY_S == (DAYS * 24 - 1) * 3600
    assert abs(told["in_band_s"] - inside.sum() * EVERY_S) <= doubtful_s < 0.2 * t.size * EVERY_S
    assert 0.1 < inside.mean() < 0.95
    hours = EVERY_S / 3600
    for side, outside in (("warm", over), ("cold", under)):
        plain = float(np.clip(outside, 0, None).sum() * hours)
        slack = PIECE_C * float((outside > -PIECE_C).sum()) * hours + 0.01
        assert abs(told["degree_hours"][side] - plain) <= slack
    warmest = max(temps[(t // 3600) == h].mean() for h in range(DAYS * 24) if ((t // 3600) == h).any())
    assert told["warmest_hour"]["temp_c"] == pytest.approx(warmest, abs=0.006)
