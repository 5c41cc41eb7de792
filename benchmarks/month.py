"""The memory of the watch after a simulated month: flat, or does it grow.

Run: python -m benchmarks.month [--days 30] [--sweep 10]. Budget: within 5 % from the end of the second day
on. The parts of the program run in one process with a clock that is moved by hand: every sweep, minute,
alarm, message, acknowledgement and question of a page of the month happens, at its own simulated time. Not
in it: the HTTP server's sockets, the deliverer, and the fits, which run in a process of their own.
"""

import argparse
import math
import os
import tempfile
import time
from pathlib import Path

from benchmarks.start import resident_mb
from tests.rig import PROBE, Rig, rig_in, with_batch

DAY_S = 86400
MOST_GROWTH = 0.05
PLAN = {
    "name": "Long",
    "stages": [
        {
            "key": "primary",
            "kind": "primary",
            "target_c": 20,
            "low_c": 18.5,
            "high_c": 21.5,
            "lasts_s": 40 * DAY_S,
            "ends": "brewer",
        }
    ],
}


def beer_c(second: int) -> float:
    """What the probe shows: a day's swing that leaves the band for some hours, in sixteenths."""
    return round((20.0 + 2.2 * math.sin(2 * math.pi * second / DAY_S)) * 16) / 16


def day(rig: Rig, number: int, sweep_s: int, batch: str) -> float:
    """Let one day pass; the resident memory at its end, MB."""
    for second in range(0, DAY_S, sweep_s):
        rig.source.values[PROBE] = beer_c(second)
        rig.rounds(1)
        if second % 3600 == 0:
            rig.get(f"/batches/{batch}/series")
            rig.get("/vessels")
            for alarm in rig.get("/alarms", standing="true")["items"]:
                if alarm["state"].endswith("unacknowledged"):
                    rig.post(f"/alarms/{alarm['id']}/acknowledge")
    resident = resident_mb(os.getpid())
    print(f"day {number:3d}   {resident:6.1f} MB", flush=True)
    return resident


def main() -> None:
    """Print the memory of each day; the exit code is 1 when it grew by more than the budget."""
    asks = argparse.ArgumentParser(description=__doc__)
    asks.add_argument("--days", type=int, default=30)
    asks.add_argument("--sweep", type=int, default=10, help="seconds from one sweep to the next")
    given = asks.parse_args()
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as name, rig_in(Path(name)) as rig:
        rig.sweep_s = given.sweep
        batch = with_batch(rig, PLAN)
        rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
        seen = [day(rig, n + 1, given.sweep, batch) for n in range(given.days)]
        rounds, failed = rig.watch.rounds, rig.watch.failed_rounds
        alarms = len(rig.get("/alarms", limit=200)["items"])
    settled = seen[1:]
    growth = max(settled) / settled[0] - 1
    print(f"{rounds} rounds, {failed} failed, {alarms} alarms, in {time.monotonic() - began:.0f} s")
    print(f"most growth after day 2   {growth * 100:5.1f} %   (budget {MOST_GROWTH * 100:g})")
    raise SystemExit(1 if growth > MOST_GROWTH or failed else 0)


if __name__ == "__main__":
    main()
