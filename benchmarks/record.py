"""What the record costs: bytes per probe-minute, and how long a chart's query takes.

Run: python -m benchmarks.record. Budgets: at most 26 bytes a probe-minute with hours and indexes; 20 ms
for 30 days of 2 probes at 1,000 points, 60 ms for a year.
"""

import random
import shutil
import statistics
import subprocess
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import text

from service.record import sqlite
from service.record.database import open_record
from service.record.minutes import MinuteRow, buckets, write_minutes
from service.watch.fold import minute_of

PROBES = 2
DAYS = 366
NOW = datetime(2026, 11, 25, tzinfo=UTC)


def fill(record_dir: Path) -> None:
    """A year of minutes for each probe, in the order and the transactions of real use (an hour at once)."""
    record = open_record(record_dir, None, time.monotonic)
    chance = random.Random(1)
    last = minute_of(NOW)
    for start in range(last - DAYS * 1440, last, 60):
        rows = [
            MinuteRow(
                probe,
                minute,
                20_000 + round(1500 * chance.uniform(-1, 1)),
                chance.choice((0, 0, 31, 62)),
                chance.choice((0, 0, 31, 63)),
                6,
            )
            for minute in range(start, start + 60)
            for probe in range(1, PROBES + 1)
        ]
        record.write(lambda connection, rows=rows: write_minutes(connection, rows))
    record.close()


def bytes_of(folder: Path, *tables: str) -> int:
    """Bytes of all pages of these tables and their indexes."""
    engine = sqlite.reading_engine(folder / "record.db")
    with engine.connect() as connection:
        total = 0
        for table in tables:
            found = connection.execute(
                text(
                    "SELECT sum(pgsize) FROM dbstat WHERE name = :t "
                    "OR name LIKE 'sqlite_autoindex_' || :t || '_%'"
                ),
                {"t": table},
            ).scalar()
            total += int(found or 0)
    engine.dispose()
    return total


def timed(work: Callable[[], object], times: int = 15) -> float:
    """Median milliseconds."""
    taken = []
    for _ in range(times):
        began = time.perf_counter()
        work()
        taken.append((time.perf_counter() - began) * 1000)
    return statistics.median(taken)


def rrd_bytes(folder: Path) -> int | None:
    """What RRDtool takes for the same: mean, lowest, highest by the minute and the hour; None without it."""
    if shutil.which("rrdtool") is None:
        return None
    path = folder / "peer.rrd"
    archives = [
        f"RRA:{kind}:0.5:{step}:{DAYS * 1440 // step}"
        for kind in ("AVERAGE", "MIN", "MAX")
        for step in (1, 60)
    ]
    sources = [f"DS:probe{n}:GAUGE:120:-55:125" for n in range(PROBES)]
    subprocess.run(["rrdtool", "create", str(path), "--step", "60", *sources, *archives], check=True)
    return path.stat().st_size


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        fill(folder)
        rows = DAYS * 1440 * PROBES
        whole = (folder / "record.db").stat().st_size
        print(f"probe-minutes stored          {rows:12,d}")
        print(f"minutes and hours             {bytes_of(folder, 'minute', 'hour') / rows:12.2f} bytes each")
        print(f"the whole file                {whole / rows:12.2f} bytes each   (budget 26)")
        peer = rrd_bytes(folder)
        said = "rrdtool is not installed" if peer is None else f"{peer / rows:12.2f} bytes each"
        print(f"RRDtool, the same values      {said}")
        record = open_record(folder, None, time.monotonic)
        last = minute_of(NOW)

        def chart(days: int, width: int) -> int:
            with record.reading() as connection:
                return sum(
                    len(buckets(connection, probe, last - days * 1440, last, width)) for probe in (1, 2)
                )

        for days, width, budget in ((1, 5, 20), (30, 60, 20), (365, 1440, 60)):
            points = chart(days, width)
            ms = timed(lambda days=days, width=width: chart(days, width))
            print(f"query {days:3d} days, 2 probes       {ms:12.2f} ms, {points} points   (budget {budget})")
        record.close()


if __name__ == "__main__":
    main()
