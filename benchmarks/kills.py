"""SIGKILL at random in a storm of alarms, as often as wanted; what was lost, repeated or invented.

Run: python -m benchmarks.kills --kills 1000. Budget: nothing lost, nothing invented; only the message in
flight on each channel may arrive twice.
"""

import argparse
import sys
import tempfile
import time
from pathlib import Path

from tests.faults.storm import Storm, judge, kill_again_and_again, set_up
from tests.notify.receivers import Answer, http_receiver
from tests.running import Running

VESSELS, CHANNELS = 8, 12


def tell(done: int) -> None:
    """A sign of progress now and then, beside the figures."""
    if done % 50 == 0:
        print(f"{done} kills", file=sys.stderr, flush=True)


def main() -> None:
    """Print the figures; the exit code is 1 when anything was lost or invented."""
    asks = argparse.ArgumentParser(description=__doc__)
    asks.add_argument("--kills", type=int, default=1000)
    asks.add_argument("--seed", type=int, default=1)
    given = asks.parse_args()
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as name, http_receiver(Answer(200, after_s=0.03)) as receiver:
        running = Running(Path(name) / "data", log="warning")
        with running:
            set_up(running, receiver, VESSELS, CHANNELS)
            storm = Storm(running, VESSELS, given.seed)
            storm.start()
            kills = kill_again_and_again(running, given.kills, given.seed, tell)
            storm.over.set()
            storm.join(10)
        verdict = judge(running.folder, storm.asked, receiver)
    repeated = sum(verdict.repeats.values())
    print(f"kills                                 {kills:7d} in {time.monotonic() - began:.0f} s")
    print(f"transitions in the record             {verdict.transitions:7d}")
    print(f"handlings confirmed to the client     {verdict.confirmed:7d}")
    print(f"  of these not in the record          {len(verdict.lost_transitions):7d}  (budget 0)")
    print(f"  in the record, but never asked      {len(verdict.invented_transitions):7d}  (budget 0)")
    print(f"alarms whose history does not join up {len(verdict.broken_histories):7d}  (budget 0)")
    print(f"messages committed                    {verdict.messages:7d}")
    print(f"  never sent                          {len(verdict.lost_messages):7d}  (budget 0)")
    print(f"  arrived, but never committed        {len(verdict.invented_messages):7d}  (budget 0)")
    print(f"  arrived once more                   {repeated:7d}  (at most one a kill and channel)")
    for wrong in verdict.wrong[:20]:
        print(wrong)
    raise SystemExit(1 if verdict.wrong else 0)


if __name__ == "__main__":
    main()
