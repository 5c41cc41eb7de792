"""An exported installation coming in: built beside the record, looked through, only then put in its place."""

import gzip
import hashlib
import json
import sqlite3
import zlib
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from sqlalchemy import Connection, inspect
from sqlalchemy.exc import DBAPIError

from service.errors import GylewatchError
from service.record import sqlite
from service.record.database import HEAD
from service.record.exporting import FORMAT, VERSION
from service.record.sqlite_files import Paused, broken, opened

FRESH = "record.db.importing"
LONGEST_LINE = 64_000_000
STORED_AS: Mapping[str, tuple[str, ...]] = {
    "INTEGER": ("integer",),
    "BIGINT": ("integer",),
    "SMALLINT": ("integer",),
    "BOOLEAN": ("integer",),
    "FLOAT": ("real",),
    "TEXT": ("text",),
    "VARCHAR": ("text",),
}


class ImportRefusedError(GylewatchError):
    """The file cannot be taken; nothing was changed."""


@dataclass(frozen=True, slots=True)
class Incoming:
    """A database built from an export, ready to be put in the record's place."""

    path: Path
    source: Path
    made_at: str
    program: str
    with_secrets: bool
    rows: Mapping[str, int]
    channels: tuple[str, ...]

    def sentences(self) -> list[str]:
        """What it is, for a person, a sentence a line."""
        many = ", ".join(
            f"{self.rows.get(table, 0):,} {words}"
            for table, words in (
                ("batch", "batches"),
                ("entry", "entries"),
                ("alarm", "alarms"),
                ("minute", "minutes"),
            )
        )
        found = [f"{self.source} was exported on {self.made_at} by gylewatch {self.program}: {many}."]
        if not self.with_secrets and self.channels:
            found.append(
                "It came without secrets: give these channels their address or password again before you "
                f"rely on them: {', '.join(self.channels)}."
            )
        found.append("The record in use is set aside first, in set-aside/; nothing is deleted.")
        return found


def take_in(folder: Path, source: Path, paused: Paused) -> Incoming:
    """Build a database from the export `source` beside the record; ImportRefusedError names the line.

    The caller puts it in the record's place (`swapping.swap_in`) or discards it (`discard`).
    """
    discard(folder)
    try:
        with _opened(source) as file:
            return _build(folder / FRESH, source, file, paused)
    except (OSError, EOFError, zlib.error) as refused:
        discard(folder)
        raise ImportRefusedError(
            f"{source} cannot be read: it is damaged or cut short ({refused})."
        ) from None
    except GylewatchError:
        discard(folder)
        raise


def discard(folder: Path) -> None:
    """Delete what was built and not used."""
    for end in ("", "-journal", "-wal", "-shm"):
        (folder / (FRESH + end)).unlink(missing_ok=True)


def _opened(source: Path) -> IO[bytes]:
    with source.open("rb") as file:
        packed = file.read(2) == b"\x1f\x8b"
    return gzip.open(source, "rb") if packed else source.open("rb")  # type: ignore[return-value]


class _Lines:
    """The lines of an export with their numbers; the digest of all but the last."""

    def __init__(self, source: Path, file: IO[bytes]) -> None:
        self._source = source
        self._file = file
        self._digest = hashlib.sha256()
        self.number = 0
        self.sha256 = ""

    def __iter__(self) -> Iterator[Any]:
        while text := self._file.readline(LONGEST_LINE + 1):
            self.number += 1
            if len(text) > LONGEST_LINE:
                raise self.refused("is too long to be one of an export")
            self.sha256 = self._digest.hexdigest()
            self._digest.update(text)
            try:
                yield json.loads(text)
            except ValueError:
                raise self.refused("is no JSON: the file is cut short or altered") from None

    def refused(self, what: str) -> ImportRefusedError:
        return ImportRefusedError(f"{self._source}, line {self.number}: {what}.")


def _build(fresh: Path, source: Path, file: IO[bytes], paused: Paused) -> Incoming:
    lines = _Lines(source, file)
    every = iter(lines)
    head = _head(next(every, None), source)
    fresh.touch(mode=0o600)
    # Alembic is only needed here, and the service would keep its 9 MB
    from service.record.migrations.run import upgrade

    engine = sqlite.writing_engine(fresh)
    try:
        upgrade(engine, head["schema"])
        with engine.begin() as connection:
            rows = _fill(connection, every, lines)
        with engine.begin() as connection:
            _refuse_strangers(connection, source)
        upgrade(engine)
    except DBAPIError as refused:
        raise lines.refused(f"does not fit into the record ({refused.orig})") from None
    finally:
        engine.dispose()
    with closing(opened(fresh)) as connection:
        wrong = broken(connection, paused)
        names = connection.execute(
            "SELECT name FROM channel WHERE removed_at IS NULL ORDER BY name"
        ).fetchall()
    if wrong:
        raise ImportRefusedError(f"What {source} makes is no whole record: {wrong}.")
    return Incoming(
        path=fresh,
        source=source,
        made_at=str(head["made_at"]),
        program=str(head["program"]),
        with_secrets=bool(head["secrets"]),
        rows=rows,
        channels=tuple(str(name) for (name,) in names),
    )


def _head(head: Any, source: Path) -> Mapping[str, Any]:
    if not isinstance(head, dict) or head.get("format") != FORMAT:
        raise ImportRefusedError(f"{source} is no export of gylewatch. `gylewatch record export` makes one.")
    if {"version", "schema", "program", "made_at", "secrets"} - head.keys():
        raise ImportRefusedError(f"{source}, line 1: something is missing; the file was altered.")
    if head["version"] != VERSION or str(head["schema"]) > HEAD:
        raise ImportRefusedError(
            f"{source} was exported by a newer gylewatch ({head['program']}). Install that version first."
        )
    return head


def _fill(connection: Connection, every: Iterator[Any], lines: _Lines) -> dict[str, int]:
    """Put the rows in; returns the counts once the last line was found to agree."""
    known = {name: _columns(connection, name) for name in inspect(connection).get_table_names()}
    known.pop("alembic_version", None)
    counted: dict[str, int] = {}
    table, put, width = "", "", 0
    for value in every:
        if isinstance(value, list):
            if not put or not all(isinstance(row, list) and len(row) == width for row in value):
                raise lines.refused("has rows that do not fit the columns named before")
            try:
                connection.exec_driver_sql(put, [tuple(row) for row in value])
            except (sqlite3.InterfaceError, sqlite3.ProgrammingError, OverflowError, UnicodeError) as refused:
                raise lines.refused(f"does not fit into the record ({refused})") from None
            counted[table] += len(value)
        elif isinstance(value, dict) and "table" in value:
            table = str(value["table"])
            columns = known.pop(table, None)
            if columns is None or value.get("columns") != columns:
                raise lines.refused(f"the table {table!r} or its columns are not those of this schema")
            counted[table], width = 0, len(columns)
            put = (
                f'INSERT INTO "{table}" ({", ".join(f"{chr(34)}{c}{chr(34)}" for c in columns)}) VALUES '
                + (f"({', '.join('?' * width)})")
            )
        elif isinstance(value, dict) and "end" in value:
            _refuse_other_end(value["end"], counted, lines)
            if next(every, None) is not None:
                raise lines.refused("comes after the end")
            return counted
        else:
            raise lines.refused("is neither rows nor a table")
    raise ImportRefusedError(f"The export is cut short: its end is missing after line {lines.number}.")


def _columns(connection: Connection, table: str) -> list[str]:
    return [column["name"] for column in inspect(connection).get_columns(table)]


def _refuse_other_end(end: Any, counted: Mapping[str, int], lines: _Lines) -> None:
    if not isinstance(end, dict) or end.get("sha256") != lines.sha256:
        raise lines.refused("the checksum is another one: the file was altered")
    if end.get("rows") != counted:
        raise lines.refused("the counts are other ones: the file was altered")


def _refuse_strangers(connection: Connection, source: Path) -> None:
    """Refuse values of a kind that their column does not have: SQLite itself takes anything anywhere."""
    for table in inspect(connection).get_table_names():
        for column in inspect(connection).get_columns(table):
            kinds = STORED_AS.get(str(column["type"]).split("(")[0])
            name = f'"{column["name"]}"'
            wrong = (
                f"json_valid({name}) = 0"
                if kinds is None
                else f"typeof({name}) NOT IN ({', '.join(repr(k) for k in (*kinds, 'null'))})"
            )
            found = connection.exec_driver_sql(f'SELECT count(*) FROM "{table}" WHERE {wrong}').scalar()
            if found:
                raise ImportRefusedError(
                    f"{source}: the table {table} has {found} values in the column {column['name']} that do "
                    "not belong there; the file was altered."
                )
