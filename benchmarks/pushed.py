"""How many pushed samples a second reach the record, each answer after its commit.

Run: python -m benchmarks.pushed. Budget: 10,000 a second into SQLite, in batches of 10,000. Kinds of
batches: a device that sends every second, one that was away and sends a value a minute, one with a value
every ten minutes from months ago, and the first sent again. Beside them, in the same run, what SQLite
itself takes for the bare rows.
"""

import random
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from sensors.sample import ProbeId
from service.alarms.words import Units
from service.record.database import open_record
from service.record.vessels import add_probe
from service.watch.loop import Watch, WatchSettings
from service.watch.publish import Broker

BATCH = 10_000
BATCHES = 8
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
PROBE = ProbeId("cupboard-air")

Samples = list[tuple[int, datetime, float]]


class StillClock:
    """The wall clock stands, so that each batch is as old as it is meant to be."""

    boot_id = "boot"

    def now(self) -> datetime:
        return NOW

    def monotonic(self) -> float:
        return time.monotonic()

    def since_boot_s(self) -> float:
        return 1e6

    def doubt(self, newest_row: datetime | None) -> str:  # noqa: ARG002
        return ""


def batch(chance: random.Random, until: datetime, step: timedelta) -> Samples:
    """Samples one step apart, the last of them at `until`, wandering like beer does."""
    value_c = 20.0
    samples = []
    for index in range(BATCH):
        value_c += chance.gauss(0, 0.01)
        samples.append((index, until - (BATCH - 1 - index) * step, round(value_c, 4)))
    return samples


def per_second(watch: Watch, batches: Sequence[Samples]) -> list[float]:
    """Samples a second of each batch, from the call to the answer."""
    speeds = []
    for samples in batches:
        began = time.perf_counter()
        arrived = watch.arrive(PROBE, samples)
        speeds.append(len(samples) / (time.perf_counter() - began))
        assert arrived.new + arrived.known == len(samples), arrived.refused[:3]
    return speeds


def bare_rows(folder: Path) -> float:
    """Samples a second of SQLite alone, with the same safety, a transaction a batch."""
    plain = sqlite3.connect(folder / "plain.db", isolation_level=None)
    plain.execute("PRAGMA journal_mode=WAL")
    plain.execute("PRAGMA synchronous=FULL")
    plain.execute(
        "CREATE TABLE pushed (probe INT, at_ms INT, raw_mc INT, fault TEXT, PRIMARY KEY (probe, at_ms)) "
        "WITHOUT ROWID"
    )
    speeds = []
    for number in range(BATCHES):
        rows = [(1, number * BATCH + n, 20_000, None) for n in range(BATCH)]
        began = time.perf_counter()
        plain.execute("BEGIN IMMEDIATE")
        plain.executemany("INSERT INTO pushed VALUES (?, ?, ?, ?)", rows)
        plain.execute("COMMIT")
        speeds.append(BATCH / (time.perf_counter() - began))
    plain.close()
    return statistics.median(speeds)


def kinds() -> dict[str, Callable[[], list[Samples]]]:
    """The batches of each kind, made when they are wanted."""
    chance = random.Random(1)
    second, minute = timedelta(seconds=1), timedelta(minutes=1)
    fresh = [batch(chance, NOW - n * BATCH * second, second) for n in range(BATCHES)]
    before = NOW - timedelta(days=2, milliseconds=1)
    buffered = [batch(chance, before - n * BATCH * minute, minute) for n in range(BATCHES)]
    before -= timedelta(days=120)
    sparse = [batch(chance, before - n * BATCH * 10 * minute, 10 * minute) for n in range(BATCHES)]
    return {
        "every second": lambda: fresh[::-1],
        "a value a minute, buffered": lambda: buffered[::-1],
        "a value every ten minutes, old": lambda: sparse[::-1],
        "sent again": lambda: fresh[::-1],
    }


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        record = open_record(folder, None, time.monotonic)
        record.write(lambda c: add_probe(c, PROBE, "Cupboard air", "pushed", None, 60.0, NOW))
        settings = WatchSettings(10.0, ZoneInfo("UTC"), Units.CELSIUS, "http://127.0.0.1", folder)
        watch = Watch(record, [], StillClock(), settings, Broker("bench"), lambda: None)
        print(f"{BATCHES} batches of {BATCH:,} samples, samples a second (budget 10,000)")
        for kind, made in kinds().items():
            speeds = per_second(watch, made())
            print(f"  {kind:30} median {statistics.median(speeds):8,.0f}   slowest {min(speeds):8,.0f}")
        print(f"  {'SQLite alone, bare rows':30} median {bare_rows(folder):8,.0f}")
        record.close()


if __name__ == "__main__":
    main()
