"""Writing into a record that a watch may be using: one short transaction from another process."""

import os
from collections.abc import Callable
from pathlib import Path
from time import monotonic
from typing import TypeVar

from sqlalchemy import Connection, create_engine
from sqlalchemy.exc import DBAPIError

from service.errors import GylewatchError, NotFoundError
from service.record import sqlite
from service.record.database import only_reading, open_record, refusal_of

T = TypeVar("T")


class OtherOwnerError(GylewatchError):
    """The record belongs to another user; what is written here would be closed to the service."""


def write_beside(data_dir: Path, url: str | None, work: Callable[[Connection], T]) -> T:
    """Run `work` in one transaction and return what it returns once that is committed.

    A record that is not there yet is made. Raises OtherOwnerError, UnavailableError, and what `only_reading`
    raises for a record of another version; nothing was changed then.
    """
    path = data_dir / "record.db"
    if url is None:
        _as_owner(path)
    try:
        with only_reading(data_dir, url):
            pass
    except NotFoundError:
        data_dir.mkdir(mode=0o700, parents=True, exist_ok=True)
        open_record(data_dir, url, monotonic).close()
    engine = sqlite.writing_engine(path) if url is None else create_engine(url)
    try:
        with engine.begin() as connection:
            if url is None:
                # the watch brings the log into the file; two that do so would wait for each other
                connection.exec_driver_sql("PRAGMA wal_autocheckpoint=0")
            return work(connection)
    except DBAPIError as refused:
        raise refusal_of(refused, str(path) if url is None else "the database") from refused
    finally:
        engine.dispose()


def _as_owner(path: Path) -> None:
    there = path if path.exists() else path.parent
    if there.exists() and there.stat().st_uid != os.geteuid():
        owner = there.owner()
        raise OtherOwnerError(
            f"{there} belongs to {owner}, and what is written here must too. Call it as that user: "
            f"sudo -u {owner} gylewatch …"
        )
