"""How fast and how small the running program is.

Run: python -m benchmarks.start. Budgets: 3 s from start to the first committed sample; 100 MB resident, idle,
one vessel, one channel. Beside it, in the same run, a bare process with the same libraries loaded.
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.emulated.tree import EmulatedTree
from tests.running import Running

PROBE = "28-00000a1b2c3d"
BARE = (
    "import fastapi, uvicorn, sqlalchemy, apscheduler.schedulers.background, time\n"
    "from sqlalchemy import create_engine, text\n"
    "app = fastapi.FastAPI()\n"
    "app.get('/')(lambda: {})\n"
    "engine = create_engine('sqlite://')\n"
    "engine.connect().execute(text('select 1'))\n"
    "s = apscheduler.schedulers.background.BackgroundScheduler(); s.start()\n"
    "uvicorn.run(app, host='127.0.0.1', port=PORT, log_level='error')\n"
)


def resident_mb(pid: int) -> float:
    """Resident memory of a process, MB."""
    for line in Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) / 1024
    raise LookupError(f"no process {pid}")


def first_sample_s(folder: Path, root: Path) -> float:
    """Seconds from starting the program until a sample of it is committed."""
    running = Running(folder, root, sweep_s=10)
    began = time.monotonic()
    running.start()
    while not (
        running.client.get("/api/v1/probes").json()["items"]
        and running.client.get(f"/api/v1/probes/{PROBE}").json()["last"]
        and running.client.get("/readyz").json()["rounds"] >= 1
    ):
        time.sleep(0.02)
    taken = time.monotonic() - began
    running.stop()
    running.client.close()
    return taken


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as name, EmulatedTree({PROBE: 20.0}, speed=1) as tree:
        folder = Path(name) / "data"
        first_s = first_sample_s(folder, tree.root)
        print(f"first start to first committed sample   {first_s:6.2f} s  (makes the record)")
        for _ in range(3):
            again_s = first_sample_s(folder, tree.root)
            print(f"start to first committed sample         {again_s:6.2f} s  (budget 3)")
        with Running(folder, tree.root, sweep_s=10) as running:
            vessel = running.post("/vessels", {"name": "Bucket", "volume_l": 5})["id"]
            running.patch(f"/probes/{PROBE}", {"vessel_id": vessel, "role": "liquid"})
            running.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
            bare = subprocess.Popen([sys.executable, "-c", BARE.replace("PORT", str(running.port + 1))])
            time.sleep(90)
            print(f"resident, idle, one vessel, one channel {resident_mb(running.pid):6.1f} MB (budget 100)")
            print(f"resident, bare process beside it        {resident_mb(bare.pid):6.1f} MB")
            bare.kill()
            bare.wait()


if __name__ == "__main__":
    main()
