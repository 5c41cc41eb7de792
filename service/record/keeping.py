"""A copy of the configuration beside the record, and what is done when the record is damaged.

A damaged database is set aside, never deleted. The new one starts from the newest good copy of the
configuration: vessels, probes, calibrations, plans, channels, accounts, tokens, unfinished batches and
standing alarms. The copy holds the channels' secrets, so only the owner may read it.
"""

import hashlib
import json
import logging
import os
import shutil
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, insert, select

from service.record.database import Record, RecordDamagedError, open_record
from service.record.minutes import newest_minute
from service.record.tables import (
    absence,
    account,
    alarm,
    alarm_memory,
    assignment,
    batch,
    calibration,
    channel,
    heater,
    mark,
    place,
    plan,
    probe,
    said,
    token,
    vessel,
)

log = logging.getLogger("gylewatch.record")

COPIES = ("configuration.json", "configuration.1.json", "configuration.2.json")
REPLACING = "being-replaced"
"""A file of this name says where a damaged record went while the new one is not filled yet."""
SUSPECT = "suspect"
"""A file of this name says that damage was found while the program ran; the next start sets aside."""

KEPT: tuple[Table, ...] = (
    vessel,
    probe,
    assignment,
    calibration,
    heater,
    plan,
    channel,
    absence,
    batch,
    place,
    alarm,
    alarm_memory,
    said,
    mark,
    account,
    token,
)

KEPT_MARKS = ("band:", "plateaus", "working:", "heartbeat", "notation", "link-key", "digest:")
"""Beginnings of the names of marks that belong to the configuration."""


def configuration(connection: Connection) -> dict[str, list[dict[str, Any]]]:
    """The rows worth keeping, by table, as they are stored."""
    found = {table.name: _rows(connection, table) for table in KEPT}
    unfinished = {row["id"] for row in found["batch"] if row["state"] != "ended"}
    found["batch"] = [row for row in found["batch"] if row["id"] in unfinished]
    found["place"] = [row for row in found["place"] if row["batch_id"] in unfinished]
    found["alarm"] = [row for row in found["alarm"] if row["state"] != "normal"]
    found["mark"] = [row for row in found["mark"] if row["name"].startswith(KEPT_MARKS)]
    return found


def _rows(connection: Connection, table: Table) -> list[dict[str, Any]]:
    return [
        {
            column.name: value.isoformat() if isinstance(value, datetime) else value
            for column, value in zip(table.columns, row, strict=True)
        }
        for row in connection.execute(select(table))
    ]


def put_back(connection: Connection, kept: Mapping[str, Sequence[Mapping[str, Any]]]) -> None:
    """Fill an empty record with kept rows."""
    for table in KEPT:
        times = {c.name for c in table.columns if c.type.__class__.__name__ == "UtcTime"}
        rows = [
            {
                name: datetime.fromisoformat(value) if name in times and value is not None else value
                for name, value in row.items()
            }
            for row in kept.get(table.name, ())
        ]
        if rows:
            connection.execute(insert(table), rows)


class Keeper:
    """Keeps the copy beside the record, and writes it only when something changed."""

    def __init__(self, folder: Path, record: Record) -> None:
        self._folder = folder / "kept"
        self._record = record
        self._last = ""

    def keep(self) -> None:
        """Write the copy if the configuration is another one than last time; an error is logged."""
        with self._record.reading() as connection:
            body = json.dumps(configuration(connection), sort_keys=True)
        mark_of_it = hashlib.sha256(body.encode()).hexdigest()
        if mark_of_it == self._last:
            return
        try:
            self._folder.mkdir(mode=0o700, exist_ok=True)
            for older, newer in zip(reversed(COPIES), list(reversed(COPIES))[1:], strict=False):
                if (self._folder / newer).exists():
                    shutil.copyfile(self._folder / newer, self._folder / older)
            write_through(self._folder / COPIES[0], json.dumps({"sha256": mark_of_it, "tables": body}))
        except OSError as refused:
            log.warning("the copy of the configuration could not be written: %s", refused)
            return
        self._last = mark_of_it


def write_through(path: Path, text: str) -> None:
    """Write a file so that after a power cut it is there as it was, or as it is now."""
    fresh = path.with_suffix(".new")
    with os.fdopen(os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as out:
        out.write(text)
        out.flush()
        os.fsync(out.fileno())
    fresh.replace(path)
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def newest_good_copy(folder: Path) -> Mapping[str, Any] | None:
    """The newest copy whose checksum is right, or None."""
    for name in COPIES:
        try:
            outer = json.loads((folder / "kept" / name).read_text())
            if hashlib.sha256(outer["tables"].encode()).hexdigest() == outer["sha256"]:
                tables: Mapping[str, Any] = json.loads(outer["tables"])
                return tables
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            continue
    return None


def _first_look(record: Record) -> None:
    """Read what a start needs; RecordDamagedError when it cannot be read."""
    with record.reading() as connection:
        configuration(connection)
        newest_minute(connection)


def open_or_set_aside(
    folder: Path, url: str | None, monotonic: Callable[[], float], now: datetime
) -> tuple[Record, str | None]:
    """The record, and the name of the folder a damaged one was set aside in (None: it was whole)."""
    if url is not None:
        return open_record(folder, url, monotonic), None
    try:
        if (folder / SUSPECT).exists():
            raise RecordDamagedError("Damage was found in the record while it was in use.")
        record = open_record(folder, url, monotonic)
        try:
            _first_look(record)
        except RecordDamagedError:
            record.close()
            raise
        return _begun_anew(folder, record) if (folder / REPLACING).exists() else (record, None)
    except RecordDamagedError as damaged:
        log.error("%s It is set aside, and a new record is begun.", damaged)
    aside = folder / "set-aside" / f"{now:%Y%m%dT%H%M%SZ}"
    aside.mkdir(parents=True)
    write_through(folder / REPLACING, f"set-aside/{aside.name}")
    for name in ("record.db", "record.db-wal", "record.db-shm", SUSPECT):
        if (folder / name).exists():
            (folder / name).rename(aside / name)
    return _begun_anew(folder, open_record(folder, url, monotonic))


def _begun_anew(folder: Path, record: Record) -> tuple[Record, str]:
    """The new record with the kept configuration in it; begun again if a power cut came in between."""
    aside = (folder / REPLACING).read_text()
    kept = newest_good_copy(folder)
    with record.reading() as connection:
        empty = not any(configuration(connection).values())
    if kept is not None and empty:
        record.write(lambda connection: put_back(connection, kept))
    (folder / REPLACING).unlink()
    return record, aside
