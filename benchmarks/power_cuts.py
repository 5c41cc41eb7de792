"""Power cuts in a storm of alarms and minutes, as often as wanted; what was lost, torn or invented.

Run: python -m benchmarks.power_cuts --restarts 100 --cuts 1000. First the program is cut off so many times
and started again on what the disk kept. Then it runs on one disk whose list of writes is cut at so many
places, once as it is and once as if its syncs meant nothing: the second must find losses, or the judge is
blind. Budget: nothing lost, nothing invented, every record whole.
"""

import argparse
import random
import sys
import tempfile
import time
from pathlib import Path

from tests.faults.cuts import losses
from tests.faults.disk import Fate, lay
from tests.faults.storm import judge
from tests.faults.weather import calm_down, lose_power, weather

VESSELS, CHANNELS = 6, 6


def cut_and_restart(folder: Path, restarts: int, seed: int) -> list[str]:
    """Cut the running program off and start it again, so many times; returns what is wrong."""
    chance, unsynced, began = random.Random(seed), [], time.monotonic()
    with weather(folder, VESSELS, CHANNELS, seed) as now:
        for n in range(restarts):
            lose_power(now, chance)
            unsynced.append(now.disk.cut_the_power(chance))
            now.running.start()
            if n % 25 == 24:
                print(f"{n + 1} cuts", file=sys.stderr, flush=True)
        calm_down(now)
        now.running.stop()
        verdict = judge(now.running.folder, now.storm.asked, now.receiver)
    wrong = verdict.wrong + now.pusher.judge(now.running.folder)
    wrong += ["a record was set aside"] * now.running.log.count("set aside")
    print(f"power cuts with a restart             {restarts:7d} in {time.monotonic() - began:.0f} s")
    print(f"  of these with writes not synced     {sum(n > 0 for n in unsynced):7d}, {sum(unsynced)} writes")
    print(f"handlings confirmed to the client     {verdict.confirmed:7d}")
    print(f"minutes confirmed to the client       {len(now.pusher.confirmed):7d}")
    print(f"messages committed                    {verdict.messages:7d}")
    print(f"  arrived once more                   {sum(verdict.repeats.values()):7d}")
    print(f"lost, torn or invented                {len(wrong):7d}  (budget 0)")
    return wrong


def cut_one_list(folder: Path, cuts: int, run_s: float, seed: int) -> list[str]:
    """Run for a while, then cut the list of its writes at so many places; returns what is wrong."""
    chance = random.Random(seed)
    with weather(folder, VESSELS, CHANNELS, seed) as now:
        time.sleep(run_s)
        calm_down(now)
        now.running.stop()
    listed = now.disk.list()
    places = [chance.randint(1, len(listed.acts)) for _ in range(cuts)]
    wrong: list[str] = []
    unsure = in_flight = blind = 0
    for n, place in enumerate(places):
        known = now.notary.before(listed.acts[place - 1].end)
        fate = list(Fate)[n % len(Fate)]
        left, open_now = listed.left(place, chance, fate)
        lay(left, now.disk.folder, folder / "cut")
        found = losses(folder / "cut", known, now.storm, now.pusher)
        wrong += [f"cut {place}, {fate}: {one}" for one in found]
        unsure, in_flight = unsure + open_now, in_flight + (open_now > 0)
        left, _ = listed.left(place, chance, fate, syncs=False)
        lay(left, now.disk.folder, folder / "cut")
        blind += not losses(folder / "cut", known, now.storm, now.pusher)
    print(f"cuts of one list of {len(listed.acts):6d} writes     {cuts:7d}")
    print(f"  of these with writes not synced     {in_flight:7d}, {unsure} writes")
    print(f"lost, torn or invented                {len(wrong):7d}  (budget 0)")
    print(f"the same cuts, syncs without meaning  {cuts - blind:7d} of {cuts} show losses")
    return wrong if blind < cuts / 2 else [*wrong, "the judge is blind"]


def main() -> None:
    """Print the figures; the exit code is 1 when anything was lost, torn or invented."""
    asks = argparse.ArgumentParser(description=__doc__)
    asks.add_argument("--restarts", type=int, default=100)
    asks.add_argument("--cuts", type=int, default=1000)
    asks.add_argument("--run", type=float, default=20.0, help="seconds of the run whose list is cut")
    asks.add_argument("--seed", type=int, default=1)
    given = asks.parse_args()
    wrong: list[str] = []
    with tempfile.TemporaryDirectory() as name:
        if given.restarts:
            wrong += cut_and_restart(Path(name) / "restarts", given.restarts, given.seed)
        if given.cuts:
            wrong += cut_one_list(Path(name) / "list", given.cuts, given.run, given.seed)
    for one in wrong[:20]:
        print(one)
    raise SystemExit(1 if wrong else 0)


if __name__ == "__main__":
    main()
