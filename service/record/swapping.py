"""Putting another database in the record's place: the old one is set aside first, never deleted.

Only with the data folder's lock held. The old record stays where it is until the last step, which is
one rename: a power cut leaves either the old record or the new one.
"""

import os
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from service.errors import GylewatchError
from service.record.sqlite_files import opened, sync

NUMBERED = ("alarm", "message")
"""Tables whose numbers left the house: they go on from the old record's, so that none is used twice."""
UNKNOWN_LEAP = 10_000
"""How far the numbers leap when the old record cannot tell how far it had come."""


class SwapError(GylewatchError):
    """The record could not be exchanged; the one in use is as it was."""


def swap_in(folder: Path, fresh: Path, now: datetime) -> Path | None:
    """Make `fresh` (a closed database in the same folder) the record; returns where the old one is kept.

    None: there was no old one. Raises SwapError; the record in use is untouched then.
    """
    record = folder / "record.db"
    aside = folder / "set-aside" / f"{now.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    try:
        _carry_on_numbers(fresh, record)
        sync(fresh)
        if not record.exists():
            _remove_log(record)
            fresh.replace(record)
            sync(folder)
            return None
        _bring_log_home(record)
        aside.mkdir(parents=True, mode=0o700)
        for part in _parts(record):
            _second_name(part, aside / part.name)
        sync(aside)
        _remove_log(record)
        fresh.replace(record)
        sync(folder)
    except (OSError, sqlite3.Error) as refused:
        raise SwapError(f"The record could not be exchanged: {refused}.") from refused
    (folder / "suspect").unlink(missing_ok=True)
    return aside


def _parts(record: Path) -> list[Path]:
    found = [record, *(record.with_name(record.name + end) for end in ("-wal", "-shm"))]
    return [part for part in found if part.exists()]


def _bring_log_home(record: Path) -> None:
    """After this the file alone is the record; a damaged one keeps its log beside it."""
    try:
        with closing(sqlite3.connect(record)) as connection:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    except sqlite3.DatabaseError:
        return


def _remove_log(record: Path) -> None:
    # the old log must be gone before another database takes the name: SQLite would play it into that one
    for end in ("-wal", "-shm"):
        record.with_name(record.name + end).unlink(missing_ok=True)


def _second_name(part: Path, kept: Path) -> None:
    try:
        os.link(part, kept)
    except OSError:  # a file system without hard links
        shutil.copy2(part, kept)
        sync(kept)


def _carry_on_numbers(fresh: Path, record: Path) -> None:
    old = _numbers(record)
    with closing(sqlite3.connect(fresh)) as connection:
        for table in NUMBERED:
            mine = connection.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (table,)).fetchone()
            reached = 0 if mine is None else int(mine[0])
            next_after = reached + UNKNOWN_LEAP if old is None else max(reached, old.get(table, 0))
            if mine is None:
                connection.execute("INSERT INTO sqlite_sequence VALUES (?, ?)", (table, next_after))
            else:
                connection.execute("UPDATE sqlite_sequence SET seq = ? WHERE name = ?", (next_after, table))
        connection.commit()
        connection.execute("PRAGMA journal_mode=DELETE")


def _numbers(record: Path) -> dict[str, int] | None:
    """How far the numbers of a record came; None when it cannot be read, empty when there is none."""
    if not record.exists():
        return {}
    try:
        with closing(opened(record)) as connection:
            rows = connection.execute("SELECT name, seq FROM sqlite_sequence").fetchall()
    except sqlite3.DatabaseError:
        return None
    return {str(name): int(seq) for name, seq in rows}
