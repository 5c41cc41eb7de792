"""One sweep of eight probes: a bulk conversion for all against one conversion after another.

Both on an emulated bus with real conversion times, in one run. Run it as ``python -m benchmarks.sweep``;
it ends with 1 when a budget is missed. The figures are those of the emulation and this machine: transfers
are taken as 11 ms a probe.
"""

import statistics
import sys
import time
from datetime import UTC, datetime

from sensors.onewire import OneWireSource
from tests.emulated.tree import EmulatedTree

PROBES = 8
ROUNDS = 5
CONVERSION_S = 0.75
MOST_CONVERSIONS = 1.2
LEAST_FASTER = 5.0


def timed_sweeps(tree: EmulatedTree, rounds: int) -> list[float]:
    """Seconds for each of some sweeps, by the caller's clock; every probe must give its value."""
    source = OneWireSource(tree.root, monotonic=time.monotonic)
    took = []
    for _ in range(rounds):
        started = time.monotonic()
        sweep = source.sweep(datetime.now(UTC))
        took.append(time.monotonic() - started)
        if len(sweep.values) != PROBES:
            sys.exit(f"only {len(sweep.values)} of {PROBES} probes were read: {sweep.faults}")
    source.close()
    return took


def main() -> int:
    probes = {f"28-0000000000{number:02x}": 18.0 + number / 4 for number in range(PROBES)}
    with EmulatedTree(probes, speed=1.0) as tree:
        bulk = timed_sweeps(tree, ROUNDS)
        conversions = tree.counts()["conversions"]
        tree.ask("bulk", master=1, bulk="missing")
        single = timed_sweeps(tree, 2)
    worst, middle, slow = max(bulk), statistics.median(bulk), statistics.median(single)
    print(f"{PROBES} probes at 12 bits, {CONVERSION_S} s a conversion")
    print(f"  bulk          median {middle:.3f} s, worst of {ROUNDS} {worst:.3f} s")
    print(f"                = {worst / CONVERSION_S:.2f} conversions (budget {MOST_CONVERSIONS})")
    print(f"                {conversions / ROUNDS:g} conversion a sweep")
    print(f"  one by one    median {slow:.3f} s")
    print(f"  faster by     {slow / middle:.1f} times (budget {LEAST_FASTER:g})")
    met = worst <= MOST_CONVERSIONS * CONVERSION_S and slow / middle >= LEAST_FASTER
    print("budget met" if met else "BUDGET MISSED")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
