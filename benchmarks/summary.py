"""What looking back upon a batch of a year costs, with a year of minutes from 8 probes in the record.

Run: python -m benchmarks.summary. Budgets: summary under 1 s; record.json and record.csv under 10 s, in
constant memory (`tests/api/test_record.py` sees to that; here the peak of what Python holds is printed).
"""

import tempfile
import time
import tracemalloc
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

from benchmarks.keeping import NOW, fill
from service.actions.export import record_csv, record_json
from service.actions.series import series
from service.actions.summary import summary
from service.actions.tasting import faults_of
from service.record.estimates import keep_estimate
from tests.rig import HandClock, HandSource, Rig

DAYS = 365
VESSELS = ("tub", "jug", "drum", "cask")
PLAN: dict[str, Any] = {
    "name": "A year",
    "stages": [
        {"key": "primary", "kind": "primary", "target_c": 20, "lasts_s": 1_209_600, "ends": "brewer"},
        {"key": "bottles", "kind": "condition", "target_c": 20, "lasts_s": 31_000_000, "ends": "brewer"},
    ],
}


def begun(folder: Path) -> tuple[Rig, str]:
    """A batch of a year, split over four vessels with a probe in and one beside each."""
    rig = Rig(folder, HandClock(NOW), HandSource({}))
    since = (NOW - timedelta(days=DAYS)).isoformat()
    for n, name in enumerate(VESSELS):
        rig.post("/vessels", {"name": name, "volume_l": 10})
        for k, role in enumerate(("liquid", "surroundings"), 1):
            rig.patch(f"/probes/probe-{2 * n + k}", {"vessel_id": name, "role": role, "from": since})
    body = {"name": "Year", "vessel_id": VESSELS[0], "plan": PLAN, "og": 1.048, "started_at": since}
    batch = str(rig.post("/batches", body)["id"])
    for name in VESSELS[1:]:
        rig.post(f"/batches/{batch}/places", {"vessel_id": name, "also": True, "from": since})
    bottled = (NOW - timedelta(days=DAYS - 14)).isoformat()
    rig.post(f"/batches/{batch}/advance", {"to": "bottles", "at": bottled})
    progress = [min(1.0, hour / 120) for hour in range(14 * 24)]
    body = {"verdict": "finished", "thermal": {"progress": progress, "tau_h": 8.0}}
    rig.record.write(lambda connection: keep_estimate(connection, batch, NOW, body))
    rig.post(f"/batches/{batch}/tastings", {"words": "Fine", "faults": ["hot", "flat"]})
    return rig, batch


def best_of(work: Callable[[], object], times: int = 5) -> str:
    """Seconds of the fastest, and of the processor, which other work on the machine does not change."""
    took, busy = [], []
    for _ in range(times):
        began, idle = time.perf_counter(), time.process_time()
        work()
        took.append(time.perf_counter() - began)
        busy.append(time.process_time() - idle)
    return f"{min(took):8.2f} s ({min(busy):.2f} s of processor)"


def drained(pieces: Iterator[str]) -> int:
    """Characters of a stream that nobody keeps."""
    return sum(len(piece) for piece in pieces)


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        fill(folder, DAYS)
        rig, batch = begun(folder)
        try:
            print(f"summary of a year, 8 probes   {best_of(lambda: summary(rig.desk, batch))}")
            since, until = NOW - timedelta(days=DAYS), NOW
            chart = best_of(lambda: series(rig.desk, batch, since, until, 5000))
            print(f"  of it the curve and strays  {chart}")
            print(f"  of it what was tasted       {best_of(lambda: faults_of(rig.desk, batch))}")
            for what, stream in (("record.json", record_json), ("record.csv", record_csv)):
                began = time.perf_counter()
                size = drained(stream(rig.desk, batch))
                took = time.perf_counter() - began
                tracemalloc.start()
                drained(stream(rig.desk, batch))
                peak = tracemalloc.get_traced_memory()[1] / 1e6
                tracemalloc.stop()
                print(f"{what:28}  {took:8.1f} s, {size / 1e6:5.0f} MB, peak {peak:.1f} MB of Python's own")
        finally:
            rig.close()


if __name__ == "__main__":
    main()
