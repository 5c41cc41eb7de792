"""What watching costs: processor time and bytes written, 8 probes at 10 s, one batch.

Run: python -m benchmarks.running [minutes]. Budget: under 2 % of one core. The emulated kernel tree is a
process of its own and does not count.
"""

import os
import sys
import tempfile
import time
from pathlib import Path

from tests.emulated.tree import EmulatedTree
from tests.running import Running, eventually

PROBES = {f"28-00000a1b2c{n:02x}": 18.0 + n / 4 for n in range(8)}
TICKS_S = os.sysconf("SC_CLK_TCK")


def spent(pid: int) -> tuple[float, int]:
    """Processor seconds and bytes sent to storage by a process so far."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    written = next(
        int(line.split()[1])
        for line in Path(f"/proc/{pid}/io").read_text().splitlines()
        if line.startswith("write_bytes")
    )
    return (int(fields[11]) + int(fields[12])) / TICKS_S, written


def main() -> None:
    """Print the figures."""
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else 5.0
    with tempfile.TemporaryDirectory() as name, EmulatedTree(PROBES, speed=1) as tree:
        for probe in PROBES:
            tree.set(probe, PROBES[probe], drift_c_per_s=0.0002)
        with Running(Path(name) / "data", tree.root, sweep_s=10) as running:
            eventually(lambda: len(running.get("/probes")["items"]) == len(PROBES), 30, "all probes")
            vessel = running.post("/vessels", {"name": "Bucket", "volume_l": 5})["id"]
            running.patch(f"/probes/{next(iter(PROBES))}", {"vessel_id": vessel, "role": "liquid"})
            stage = {"key": "primary", "kind": "primary", "target_c": 18.5, "ends": "brewer"}
            running.post(
                "/batches", {"name": "Long", "vessel_id": vessel, "plan": {"name": "Long", "stages": [stage]}}
            )
            # the first backup comes soon after a first start; taken as a minute's work it would swamp a day's
            eventually(lambda: list((Path(name) / "data").rglob("record-*.json")), 300, "the first backup")
            time.sleep(15)
            cpu_before, written_before = spent(running.pid)
            began = time.monotonic()
            time.sleep(minutes * 60)
            cpu, written = spent(running.pid)
            took = time.monotonic() - began
            share = (cpu - cpu_before) / took * 100
            per_day = (written - written_before) / took * 86400 / 1e6
            print(f"processor, 8 probes at 10 s     {share:6.2f} % of one core   (budget 2)")
            print(f"written to storage              {per_day:6.1f} MB a day, measured over {took:.0f} s")
            print("besides, once a night           the size of the record, for its backup")


if __name__ == "__main__":
    main()
