"""Temperatures from somebody else's CSV into a pushed probe: looked through whole, then all or nothing.

Rows wait in a small database of their own on the disk, where they are put in order and repeated times are
found, so that a file of any size needs no more memory than a short one.
"""

import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection

from service.actions.csv_rows import CsvRefusedError, CsvRow, Shape, rows_of
from service.actions.wire import as_text
from service.errors import ConflictError
from service.record.database import Record
from service.record.facts import Probe
from service.record.minutes import minutes_of, write_minutes
from service.record.types import from_ms, to_ms
from service.record.vessels import probe_by_id
from service.watch.arrivals import KEPT_RAW, Row, store, stored_values, stretches
from service.watch.fold import MINUTE_MS, fold_all, milli, minute_of

AT_ONCE = 5000
MOST_CONFLICTS = 5
LEFT_FREE = 200_000_000
"""Bytes that stay free for the watch and its record while a file waits."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What a file holds.

    rows: empty ones among them. minutes: how many they make; there: how many of those are stored already.
    """

    rows: int
    empty: int
    repeated: int
    first: datetime
    last: datetime
    lowest_c: float
    highest_c: float
    minutes: int
    there: int

    def sentences(self, probe: Probe) -> list[str]:
        """The same for a person, a sentence a line."""
        found = [
            f"{self.rows - self.empty:,} temperatures for {probe.label!r} ({probe.id}), from "
            f"{as_text(self.first)} to {as_text(self.last)}, "
            f"between {self.lowest_c:.1f} and {self.highest_c:.1f} C.",
            f"They make {self.minutes:,} minutes.",
        ]
        if self.there:
            found.append(
                f"{self.there:,} of these are in the record already: those older than {KEPT_RAW.days} days "
                "stay as they are, later ones are made anew from all that is known."
            )
        if self.empty:
            found.append(f"{self.empty:,} rows have no temperature and are passed over.")
        if self.repeated:
            found.append(f"{self.repeated:,} rows repeat another and count once.")
        return found


class Import:
    """A file read and found good, waiting to be stored."""

    def __init__(self, waiting: sqlite3.Connection, record: Record, probe: Probe, seen: Seen) -> None:
        self._waiting = waiting
        self._record = record
        self.probe = probe
        self.seen = seen

    def store(self, now: datetime) -> None:
        """Put everything into the record, in one transaction."""
        self._record.write(lambda connection: self._store(connection, now), wait_s=None)

    def _store(self, connection: Connection, now: datetime) -> None:
        number, raw_from = self.probe.number, minute_of(now - KEPT_RAW) + 1
        for some in in_minutes(self._waiting):
            old = [(at_ms, mc) for at_ms, mc in some if at_ms // MINUTE_MS < raw_from]
            if old:
                there = _there(connection, number, old)
                fresh = fold_all(number, [one for one in old if one[0] // MINUTE_MS not in there])
                write_minutes(connection, fresh)
            recent = [one for one in some if one[0] // MINUTE_MS >= raw_from]
            known = stored_values(connection, number, [at_ms for at_ms, _ in recent])
            rows = [Row(at_ms, mc, None) for at_ms, mc in recent if at_ms not in known]
            store(connection, number, rows, now)


def free_bytes(folder: Path) -> int:
    """Room left on the disk of a folder."""
    return shutil.disk_usage(folder).free


@contextmanager
def read_csv(
    record: Record,
    folder: Path,
    probe_id: str,
    file: Path,
    shape: Shape,
    now: datetime,
    free: Callable[[Path], int] = free_bytes,
) -> Iterator[Import]:
    """Read a file whole; CsvRefusedError with lines and columns, or an import that waits to be stored.

    folder: where the rows wait meanwhile, about 20 bytes each. free: how much room there is.
    """
    _refuse_without_room(file, folder, free)
    with record.reading() as connection:
        probe = probe_by_id(connection, probe_id)
    if probe.source != "pushed":
        raise ConflictError(
            f"The probe {probe_id} is read by gylewatch itself (source {probe.source}); temperatures of a "
            "file go to a probe that was declared as pushed."
        )
    with (
        tempfile.TemporaryDirectory(prefix="csv-", dir=folder) as name,
        closing(
            sqlite3.connect(Path(name) / "rows.db", isolation_level=None, check_same_thread=False)
        ) as waiting,
    ):
        counted = _fill(waiting, file, shape, now)
        with record.reading() as connection:
            _refuse_conflicts(waiting, connection, probe.number, now)
            seen = _seen(waiting, connection, probe.number, *counted)
        yield Import(waiting, record, probe, seen)


def _refuse_without_room(file: Path, folder: Path, free: Callable[[Path], int]) -> None:
    """Rows that wait take no more than their text; what the watch needs must stay free beside them."""
    size, room = file.stat().st_size if file.is_file() else 0, free(folder)
    if size > room - LEFT_FREE:
        raise CsvRefusedError(
            f"{file} has {size / 1e6:,.0f} MB, and as much is wanted in {folder} while its rows wait there, "
            f"with {LEFT_FREE / 1e6:.0f} MB to spare; only {room / 1e6:,.0f} MB are free. Make room, or cut "
            "the file into parts."
        )


def _fill(waiting: sqlite3.Connection, file: Path, shape: Shape, now: datetime) -> tuple[int, int]:
    """Put the rows in order; returns how many there are and how many of them are empty."""
    waiting.execute("PRAGMA journal_mode=OFF")
    waiting.execute("PRAGMA synchronous=OFF")
    waiting.execute(
        "CREATE TABLE row (at_ms INTEGER, line INTEGER, mc INTEGER, PRIMARY KEY (at_ms, line)) WITHOUT ROWID"
    )
    waiting.execute("BEGIN")
    rows = empty = 0
    some: list[tuple[int, int, int]] = []

    def put() -> None:
        waiting.executemany("INSERT INTO row VALUES (?, ?, ?)", some)
        some.clear()

    try:
        with file.open(encoding="utf-8-sig", newline="") as text:
            for row in rows_of(text, shape, now):
                rows += 1
                if row.temp_c is None:
                    empty += 1
                    continue
                some.append(_kept(row, row.temp_c))
                if len(some) == AT_ONCE:
                    put()
    except OSError as refused:
        raise CsvRefusedError(f"{file} cannot be read: {refused.strerror}.") from None
    except sqlite3.OperationalError as refused:
        raise CsvRefusedError(
            f"The rows of {file} cannot wait on the disk: {refused}. Nothing was changed."
        ) from None
    put()
    waiting.execute("COMMIT")
    if rows == empty:
        raise CsvRefusedError(f"{file} has no temperature in the column {shape.temperature!r}.")
    return rows, empty


def _kept(row: CsvRow, temp_c: float) -> tuple[int, int, int]:
    return to_ms(row.at), row.line, milli(temp_c)


def _refuse_conflicts(
    waiting: sqlite3.Connection, connection: Connection, number: int, now: datetime
) -> None:
    doubled = waiting.execute(
        "SELECT at_ms, min(line), max(line) FROM row GROUP BY at_ms HAVING min(mc) <> max(mc) LIMIT ?",
        (MOST_CONFLICTS,),
    ).fetchall()
    problems = [
        f"Lines {a} and {b} give different temperatures for the same time, {as_text(from_ms(at_ms))}."
        for at_ms, a, b in doubled
    ]
    for some in in_minutes(waiting, to_ms(now - KEPT_RAW)):
        known = stored_values(connection, number, [at_ms for at_ms, _ in some])
        for at_ms, mc in some:
            if known.get(at_ms, mc) != mc and len(problems) < MOST_CONFLICTS:
                line = waiting.execute("SELECT min(line) FROM row WHERE at_ms = ?", (at_ms,)).fetchone()[0]
                problems.append(
                    f"Line {line}: the record has {known[at_ms] / 1000:.2f} C for {as_text(from_ms(at_ms))}, "
                    f"the file {mc / 1000:.2f} C."
                )
    if problems:
        raise CsvRefusedError("\n".join(problems))


def _seen(waiting: sqlite3.Connection, connection: Connection, number: int, rows: int, empty: int) -> Seen:
    first, last, low, high, times = waiting.execute(
        "SELECT min(at_ms), max(at_ms), min(mc), max(mc), count(DISTINCT at_ms) FROM row"
    ).fetchone()
    minutes = there = 0
    for some in in_minutes(waiting):
        minutes += len({at_ms // MINUTE_MS for at_ms, _ in some})
        there += len(_there(connection, number, some))
    return Seen(
        rows=rows,
        empty=empty,
        repeated=rows - empty - times,
        first=from_ms(first),
        last=from_ms(last),
        lowest_c=low / 1000,
        highest_c=high / 1000,
        minutes=minutes,
        there=there,
    )


def _there(connection: Connection, number: int, some: Sequence[tuple[int, int]]) -> set[int]:
    """Which minutes of these values are stored."""
    wanted = {at_ms // MINUTE_MS for at_ms, _ in some}
    return {
        row.minute
        for first, last in stretches(wanted)
        for row in minutes_of(connection, number, first, last)
        if row.minute in wanted
    }


def in_minutes(waiting: sqlite3.Connection, since_ms: int = 0) -> Iterator[list[tuple[int, int]]]:
    """The waiting (time in ms, milli-degrees) in order, some thousands at once; no minute is cut in two."""
    some: list[tuple[int, int]] = []
    rows = waiting.execute(
        "SELECT at_ms, min(mc) FROM row WHERE at_ms >= ? GROUP BY at_ms ORDER BY at_ms", (since_ms,)
    )
    for at_ms, mc in rows:
        if len(some) >= AT_ONCE and at_ms // MINUTE_MS != some[-1][0] // MINUTE_MS:
            yield some
            some = []
        some.append((at_ms, mc))
    if some:
        yield some
