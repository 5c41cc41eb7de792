"""An installation that was taken in (`importing.take_in`) put into PostgreSQL: all of it, or nothing.

The file was looked through and built as a database of its own; here its rows replace those in PostgreSQL in
one transaction. What was there is written into the data folder first, as an export with its secrets.
"""

import gzip
import os
from collections.abc import Iterator, Sequence
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any, cast

from sqlalchemy import Boolean, Connection, Integer, Table, delete, func, select, text

from service.record.database import Record
from service.record.exporting import export
from service.record.sqlite_files import opened, sync
from service.record.tables import batch, metadata, probe, vessel

KEPT_AS = "record.export.gz"
ROWS_AT_ONCE = 1000
SAYS_SOMETHING = (vessel, probe, batch)


def take_over(record: Record, folder: Path, staged: Path, now: datetime) -> Path | None:
    """Make the rows of `staged` (a database built by an import) the record in PostgreSQL.

    Returns the export of what was there, in `set-aside/` of the data folder; None: there was nothing.
    UnavailableError: PostgreSQL did not take it; what was there is as it was.
    """
    aside = _set_aside(record, folder, now)

    def work(connection: Connection) -> None:
        for table in reversed(metadata.sorted_tables):
            connection.execute(delete(table))
        for table in metadata.sorted_tables:
            _fill(connection, table, staged)
            _carry_on_numbers(connection, table)

    record.write(work, None)
    return aside


def _set_aside(record: Record, folder: Path, now: datetime) -> Path | None:
    with record.reading() as connection:
        counts = [
            connection.execute(select(func.count()).select_from(table)).scalar_one()
            for table in SAYS_SOMETHING
        ]
        if not any(counts):
            return None
        kept = folder / "set-aside" / f"{now.astimezone(UTC):%Y%m%dT%H%M%SZ}" / KEPT_AS
        kept.parent.mkdir(parents=True, mode=0o700)
        with os.fdopen(os.open(kept, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            with gzip.GzipFile(fileobj=file, mode="wb", compresslevel=1) as packed:
                export(connection, cast(IO[bytes], packed), now, None)
            file.flush()
            os.fsync(file.fileno())
    sync(kept.parent)
    return kept


def _fill(connection: Connection, table: Table, staged: Path) -> None:
    """Rows as they are stored: times as numbers, JSON as its text, which PostgreSQL reads as JSON."""
    names = ", ".join(f'"{column.name}"' for column in table.columns)
    put = f'INSERT INTO "{table.name}" ({names}) VALUES ({", ".join(["%s"] * len(table.columns))})'
    truths = [n for n, column in enumerate(table.columns) if isinstance(column.type, Boolean)]
    for rows in _rows(table, names, staged):
        connection.exec_driver_sql(put, [_with_truths(row, truths) for row in rows])


def _rows(table: Table, names: str, staged: Path) -> Iterator[Sequence[tuple[Any, ...]]]:
    with closing(opened(staged)) as source:
        cursor = source.execute(f'SELECT {names} FROM "{table.name}"')
        while rows := cursor.fetchmany(ROWS_AT_ONCE):
            yield rows


def _with_truths(row: tuple[Any, ...], truths: Sequence[int]) -> tuple[Any, ...]:
    if not truths:
        return row
    return tuple(bool(v) if n in truths and v is not None else v for n, v in enumerate(row))


def _carry_on_numbers(connection: Connection, table: Table) -> None:
    """Numbers go on from where the old record or the new one was, so that none is used twice."""
    key = next((c for c in table.primary_key.columns if c.name == "id" and isinstance(c.type, Integer)), None)
    if key is None:
        return
    sequence = connection.execute(
        text("SELECT pg_get_serial_sequence(:name, 'id')"), {"name": table.name}
    ).scalar()
    if sequence is None:
        return
    newest = connection.execute(select(func.max(key))).scalar()
    reached = connection.exec_driver_sql(f"SELECT last_value FROM {sequence}").scalar_one()
    connection.execute(
        text("SELECT setval(:sequence, :reached)"),
        {"sequence": sequence, "reached": max(int(newest or 1), int(reached))},
    )
