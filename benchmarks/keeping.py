"""What keeping a long record costs: a year of minutes from 8 probes backed up, exported and brought in again.

Run: python -m benchmarks.keeping. Budgets: export in 10 s, its memory the same for a month and a year; a
backup that holds no commit of the watch up (its worst wait is printed, beside the worst without one); a CSV
of 200 MB in the memory of one of 20 MB.
"""

import os
import random
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import Connection, text

from service.record.backup.description import FOLDER, backups_in
from service.record.backup.making import make
from service.record.backup.restoring import preview, restore
from service.record.backup.verifying import verify
from service.record.database import Record, open_record
from service.record.minutes import MinuteRow, write_minutes
from service.record.vessels import add_probe
from service.watch.fold import minute_of

PROBES = 8
NOW = datetime(2026, 11, 25, tzinfo=UTC)
EVERY_S = 0.1
"""The watch commits once a minute; here as often as this, so that a short backup meets many commits."""

CSV_MB = (20.0, 200.0)
CSV_ROW = "{:%Y-%m-%dT%H:%M:%SZ},{:.1f}\n"

PUT = text(
    'INSERT INTO minute (probe, minute, mean_mc, below_mc, above_mc, "count") VALUES (:p, :m, :t, :b, :a, 6)'
)
ROLL_UP = text(
    "INSERT INTO hour (probe, hour, sum_mc, minutes, min_mc, max_mc) "
    "SELECT probe, minute / 60, sum(mean_mc), count(*), "
    "min(mean_mc - below_mc), max(mean_mc + above_mc) FROM minute GROUP BY probe, minute / 60"
)


def fill(folder: Path, days: int) -> None:
    """Minutes of so many days until now, and their hours."""
    record = open_record(folder, None, time.monotonic)
    chance = random.Random(1)
    last = minute_of(NOW)

    def day(connection: Connection, start: int) -> None:
        connection.execute(
            PUT,
            [
                {
                    "p": probe,
                    "m": minute,
                    "t": 20_000 + round(1500 * chance.uniform(-1, 1)),
                    "b": chance.choice((0, 0, 31, 62)),
                    "a": chance.choice((0, 0, 31, 63)),
                }
                for probe in range(1, PROBES + 1)
                for minute in range(start, start + 1440)
            ],
        )

    def declare(connection: Connection) -> None:
        for n in range(1, PROBES + 1):
            add_probe(connection, f"probe-{n}", f"Probe {n}", "pushed", None, 60.0, NOW)

    record.write(declare)
    for start in range(last - days * 1440, last, 1440):
        record.write(lambda connection, start=start: day(connection, start), None)
    record.write(lambda connection: connection.execute(ROLL_UP), None)
    record.close()


def timed(work: Callable[[], object]) -> float:
    """Seconds."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def called(folder: Path, *words: str) -> tuple[str, float]:
    """The program called with these words: seconds in words, and its peak of resident memory in MB."""
    program = Path(sys.executable).parent / "gylewatch"
    began = time.perf_counter()
    child = subprocess.Popen(
        [str(program), "record", *words],
        env={**os.environ, "GYLEWATCH_DATA_DIR": str(folder)},
        stdout=subprocess.DEVNULL,
    )
    _, status, usage = os.wait4(child.pid, 0)
    if status:
        raise SystemExit(f"gylewatch record {' '.join(words)} failed")
    busy = usage.ru_utime + usage.ru_stime
    return f"{time.perf_counter() - began:8.1f} s ({busy:.1f} s of processor)", usage.ru_maxrss / 1000


class Writing:
    """Commits as the watch makes them, each timed."""

    def __init__(self, record: Record) -> None:
        self._record = record
        self._minute = minute_of(NOW)
        self._ended = threading.Event()
        self.took_ms: list[float] = []

    def __call__(self) -> None:
        while not self._ended.wait(EVERY_S):
            self._minute += 1
            rows = [MinuteRow(p, self._minute, 20_000, 0, 31, 6) for p in range(1, PROBES + 1)]
            self.took_ms.append(
                1000 * timed(lambda rows=rows: self._record.write(lambda c: write_minutes(c, rows)))
            )

    @contextmanager
    def beside(self):  # type: ignore[no-untyped-def]
        """Write on while the block runs."""
        self.took_ms = []
        self._ended.clear()
        thread = threading.Thread(target=self)
        thread.start()
        try:
            yield
        finally:
            self._ended.set()
            thread.join()

    def said(self) -> str:
        took = self.took_ms
        return f"{statistics.median(took):8.1f} ms median, {max(took):8.1f} ms worst of {len(took)}"


def backups(folder: Path) -> None:
    """A backup beside a writer, and the same writer alone."""
    record = open_record(folder, None, time.monotonic)
    writing = Writing(record)
    with writing.beside():
        time.sleep(5)
    print(f"a commit, nothing beside it   {writing.said()}")
    with writing.beside():
        took = timed(lambda: make(folder, NOW, threading.Event().wait))
    print(f"a commit beside a backup      {writing.said()}")
    print(f"the backup, counted, checked  {took:8.1f} s")
    record.close()
    backup = backups_in(folder / FOLDER)[0]
    print(f"verify                        {timed(lambda: verify(backup, threading.Event().wait)):8.1f} s")
    seen = preview(folder, backup, threading.Event().wait)
    took = timed(lambda: restore(folder, seen, NOW, threading.Event().wait))
    print(f"restore                       {took:8.1f} s")


def csv_of(path: Path, megabytes: float) -> int:
    """A CSV of about so many megabytes, a value every ten seconds until now; returns its rows."""
    rows = int(megabytes * 1e6 / len(CSV_ROW.format(NOW, 18.1)))
    with path.open("w") as out:
        out.write("time,temp\n")
        for n in range(rows, 0, -1):
            at = NOW - timedelta(seconds=10 * n)
            out.write(CSV_ROW.format(at, 18 + (n // 360 % 40) / 10))
    return rows


def csv_import(folder: Path, megabytes: float) -> None:
    """Another program's temperatures coming in."""
    folder.mkdir()
    record = open_record(folder, None, time.monotonic)
    record.write(lambda c: add_probe(c, "attic", "Attic", "pushed", None, 60.0, NOW - timedelta(days=3653)))
    record.close()
    rows = csv_of(folder / "attic.csv", megabytes)
    words = ("--probe", "attic", "--time", "time", "--temperature", "temp", "--yes")
    took, peak = called(folder, "import-csv", str(folder / "attic.csv"), *words)
    print(f"CSV of {megabytes:4.0f} MB, {rows:9,d} rows  {took}, peak {peak:.0f} MB")


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as name:
        month, year = Path(name) / "month", Path(name) / "year"
        for folder, days in ((month, 30), (year, 366)):
            folder.mkdir()
            fill(folder, days)
        size = (year / "record.db").stat().st_size / 1e6
        print(f"probe-minutes                 {366 * 1440 * PROBES:8,d}, {size:.0f} MB")
        for folder, said in ((month, "a month"), (year, "the year")):
            took, peak = called(folder, "export", str(folder / "all.export"))
            made = (folder / "all.export").stat().st_size / 1e6
            print(f"export of {said}            {took}, {made:5.0f} MB, peak {peak:.0f} MB")
        took, _ = called(year, "export", str(year / "all.export.gz"))
        made = (year / "all.export.gz").stat().st_size / 1e6
        print(f"the same, compressed          {took}, {made:5.0f} MB")
        for folder, said in ((month, "a month"), (year, "the year")):
            into = folder / "other"
            took, peak = called(into, "import", str(folder / "all.export"), "--yes")
            print(f"import of {said}            {took}, peak {peak:.0f} MB")
        backups(year)
        for megabytes in CSV_MB:
            csv_import(Path(name) / f"csv-{megabytes:.0f}", megabytes)


if __name__ == "__main__":
    main()
