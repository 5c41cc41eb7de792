"""Clients that misbehave, in numbers: idle connections, and malformed requests made by chance.

Run: python -m benchmarks.clients --idle 1000 --malformed 10000. Budget: an answer within 2 s beside the idle
ones, no answer of 500 or more, and the watch goes round all the while.
"""

import argparse
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path

from tests.faults.test_clients import ANSWERS_WITHIN_S, answers, ask_malformed, hold
from tests.running import Running, eventually


def rounds(running: Running) -> int:
    """How often the watch came round."""
    return int(running.client.get("/readyz").json()["rounds"])


def main() -> None:
    """Print the figures; the exit code is 1 when an answer took too long."""
    asks = argparse.ArgumentParser(description=__doc__)
    asks.add_argument("--idle", type=int, default=1000)
    asks.add_argument("--malformed", type=int, default=10000)
    given = asks.parse_args()
    with tempfile.TemporaryDirectory() as name, Running(Path(name) / "data", log="warning") as running:
        running.post("/vessels", {"name": "Bucket", "volume_l": 5})
        with ExitStack() as held:
            hold(running, held, given.idle)
            took_s = answers(running)
            before = rounds(running)
            eventually(lambda: rounds(running) > before, 10, "another round")
        print(f"idle connections and half requests  {given.idle:7d}")
        print(f"an answer beside them               {took_s:7.2f} s  (budget {ANSWERS_WITHIN_S:g})")
        began, before = time.monotonic(), rounds(running)
        seen = ask_malformed(running, given.malformed)
        print(
            f"malformed requests                  {sum(seen.values()):7d} in {time.monotonic() - began:.0f} s"
        )
        for status, times in sorted(seen.items()):
            print(f"  answered {status}                      {times:7d}")
        failed = sum(times for status, times in seen.items() if status >= 500)
        print(f"  answered 500 or more              {failed:7d}  (budget 0)")
        print(f"rounds of the watch meanwhile       {rounds(running) - before:7d}")
        traces = running.log.count("Traceback")
        print(f"traces of failures in the log       {traces:7d}  (budget 0)")
    raise SystemExit(1 if took_s > ANSWERS_WITHIN_S or traces else 0)


if __name__ == "__main__":
    main()
