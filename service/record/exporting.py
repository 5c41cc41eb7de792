"""The whole installation as one file that any program can read: JSON, a line at a time.

The first line says what it is; then each table has a line with its columns and lines of rows; the last
line has the counts and the SHA-256 of everything before it. Values stand as they are stored: times in
milliseconds since 1970 UTC, temperatures in milli-degrees, uncalibrated, JSON as its text.
"""

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import IO, Any

from sqlalchemy import JSON, BigInteger, Column, Connection, Select, Table, Text, cast, select, type_coerce

from service.record.database import HEAD
from service.record.tables import metadata
from service.record.types import UtcTime
from service.version import __version__

FORMAT = "gylewatch export"
VERSION = 1
ROWS_IN_A_LINE = 1000

WITH_SECRETS = frozenset({"channel", "mark", "account", "session", "token"})
"""Tables whose rows may hold a secret; only these are handed to whoever takes secrets out."""

Row = dict[str, Any]
Changed = Callable[[str, Row], Row | None]
"""A table's name and a row to the row as it goes out; None: it does not."""


def export(
    connection: Connection, out: IO[bytes], made_at: datetime, changed: Changed | None
) -> Mapping[str, int]:
    """Write everything the connection sees, as of one moment; returns the rows of each table.

    changed: what is done to rows that hold secrets; None: they go out as they are.
    """
    digest = hashlib.sha256()

    def line(value: Any) -> None:
        text = json.dumps(value, separators=(",", ":"), ensure_ascii=False).encode() + b"\n"
        digest.update(text)
        out.write(text)

    line(
        {
            "format": FORMAT,
            "version": VERSION,
            "schema": HEAD,
            "program": __version__,
            "made_at": made_at.isoformat(),
            "secrets": changed is None,
        }
    )
    counted: dict[str, int] = {}
    for table in metadata.sorted_tables:
        line({"table": table.name, "columns": [column.name for column in table.columns]})
        counted[table.name] = 0
        for rows in _rows(connection, table, changed):
            if rows:
                line(rows)
                counted[table.name] += len(rows)
    ending = {"end": {"rows": counted, "sha256": digest.hexdigest()}}
    out.write(json.dumps(ending).encode() + b"\n")
    return counted


def _rows(connection: Connection, table: Table, changed: Changed | None) -> Iterator[Sequence[Any]]:
    query = select(*(_plain(column) for column in table.columns)).order_by(*table.primary_key.columns)
    names = [column.name for column in table.columns]
    for rows in _fetched(connection, query):
        if changed is None or table.name not in WITH_SECRETS:
            yield rows
            continue
        through = (changed(table.name, dict(zip(names, row, strict=True))) for row in rows)
        yield [list(row.values()) for row in through if row is not None]


def _fetched(connection: Connection, query: Select[Any]) -> Iterator[Sequence[Any]]:
    """The rows as tuples, some at once, without ever holding all of them."""
    if connection.dialect.name != "sqlite":
        result = connection.execution_options(yield_per=ROWS_IN_A_LINE).execute(query)
        yield from ([tuple(row) for row in some] for some in result.partitions())
        return
    # SQLite's driver streams by itself, and millions of rows are faster without wrappers around them
    cursor = connection.execute(query).cursor
    assert cursor is not None
    while rows := cursor.fetchmany(ROWS_IN_A_LINE):
        yield rows


def _plain(column: Column[Any]) -> Any:
    """A column as it is stored."""
    if isinstance(column.type, UtcTime):
        return type_coerce(column, BigInteger)
    if isinstance(column.type, JSON):
        return cast(column, Text)  # a JSON null must not become an absent value
    return column
