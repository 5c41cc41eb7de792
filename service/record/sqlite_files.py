"""A SQLite record as a file: copied while it is written to, counted, and looked through.

Also particular to SQLite, like the module beside it; here whole files are dealt with, not rows.
"""

import hashlib
import os
import sqlite3
from collections.abc import Callable, Mapping
from contextlib import closing
from pathlib import Path

from service.errors import GylewatchError

PAGES_AT_ONCE = 256
"""A megabyte between two breaths: the writer's next commit never waits for more than that."""
BREATH_S = 0.01
CHUNK = 1 << 20
STEPS_BETWEEN_LOOKS = 20_000

SUMMED: Mapping[str, tuple[str, ...]] = {
    "minute": ("mean_mc", "below_mc", "above_mc", "count"),
    "hour": ("sum_mc", "minutes"),
    "pushed": ("raw_mc",),
}

Paused = Callable[[float], bool]
"""Waits for so many seconds; true when the work is to be given up (``threading.Event().wait``)."""


class GivenUpError(GylewatchError):
    """Long work was ended because the program ends; nothing of it is left."""


def opened(path: Path, *, alone: bool = False) -> sqlite3.Connection:
    """A read-only connection. alone: nobody writes to the file, so nothing is put beside it."""
    address = f"{path.absolute().as_uri()}?mode=ro" + ("&immutable=1" if alone else "")
    connection = sqlite3.connect(address, uri=True, isolation_level=None, check_same_thread=False)
    connection.execute("PRAGMA busy_timeout=10000")
    return connection


def copy_online(source: Path, target: Path, paused: Paused) -> dict[str, int]:
    """Copy a record that may be in use; returns its figures at that moment.

    One read transaction is held all through, so the copy is of one moment and is never begun again,
    however much is written meanwhile; the writer does not wait for it (write-ahead log).
    """
    with closing(opened(source)) as original, closing(sqlite3.connect(target)) as copy:
        original.execute("BEGIN")
        found = figures(original, paused)

        def breathe(_status: int, _remaining: int, _total: int) -> None:
            if paused(BREATH_S):
                raise GivenUpError("The copy was given up because the program ends.")

        original.backup(copy, pages=PAGES_AT_ONCE, progress=breathe)
        copy.execute("PRAGMA journal_mode=DELETE")
    sync(target)
    return found


def figures(connection: sqlite3.Connection, paused: Paused) -> dict[str, int]:
    """How many rows each table has, and sums over the temperatures, by ``table`` and ``table.column``."""
    _give_up_when(connection, paused)
    names = [
        row[0]
        for row in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name"
        )
    ]
    found: dict[str, int] = {}
    for name in names:
        summed = SUMMED.get(name, ())
        wanted = ", ".join(["count(*)", *(f'coalesce(sum("{column}"), 0)' for column in summed)])
        row = _asked(connection, f'SELECT {wanted} FROM "{name}"')[0]
        keys = (name, *(f"{name}.{column}" for column in summed))
        found |= dict(zip(keys, row, strict=True))
    return found


def broken(connection: sqlite3.Connection, paused: Paused) -> str:
    """What is wrong inside a database by SQLite's own checks; empty when nothing is."""
    _give_up_when(connection, paused)
    found = [str(row[0]) for row in _asked(connection, "PRAGMA integrity_check(5)")]
    if found != ["ok"]:
        return "; ".join(found)
    strays = _asked(connection, "PRAGMA foreign_key_check")
    return f"{len(strays)} rows point at something that is not there" if strays else ""


def schema_of(connection: sqlite3.Connection) -> str | None:
    """The migration a database stands at; None when it is no record."""
    try:
        row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.OperationalError:
        return None
    return None if row is None else str(row[0])


def _give_up_when(connection: sqlite3.Connection, paused: Paused) -> None:
    connection.set_progress_handler(lambda: 1 if paused(0.0) else 0, STEPS_BETWEEN_LOOKS)


def _asked(connection: sqlite3.Connection, query: str) -> list[tuple[int, ...]]:
    try:
        return connection.execute(query).fetchall()
    except sqlite3.OperationalError as refused:
        if "interrupted" in str(refused):
            raise GivenUpError("The check was given up because the program ends.") from None
        raise


def sha256_of(path: Path, paused: Paused) -> str:
    """The SHA-256 of a file, read piece by piece."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(CHUNK):
            digest.update(piece)
            if paused(0.0):
                raise GivenUpError("Reading was given up because the program ends.")
    return digest.hexdigest()


def sync(path: Path) -> None:
    """Bring a file, or the names in a folder, to the disk for good."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
