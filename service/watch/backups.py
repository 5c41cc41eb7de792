"""The nightly backup, room on a full disk, and what is known of backups: whether one is old or failed."""

from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, func, select

from service.record.backup.description import FOLDER, BackupError, backups_in
from service.record.backup.making import back_up, make_room
from service.record.database import Record
from service.record.marks import read_mark, set_mark
from service.record.sqlite_files import Paused
from service.record.tables import probe
from service.watch.jobs import LongJob

FAILED = "backup-failed"
AT = time(3, 20)
"""In the brewer's night, and not in the hour that summer time takes away."""


def backup_jobs(record: Record, folder: Path, to: Path | None) -> tuple[LongJob, ...]:
    """The jobs that keep the record in `folder`: a backup every night, copied to `to`; room every hour."""

    def nightly(now: datetime, paused: Paused) -> int:
        trouble = ""
        try:
            outcome = back_up(folder, to, now, paused)
            trouble = outcome.trouble
        except BackupError as refused:
            trouble = str(refused)
        record.write(
            lambda c: set_mark(c, FAILED, {"at": now.isoformat(), "why": trouble} if trouble else None)
        )
        if trouble:
            raise BackupError(trouble)
        return 1

    return (
        LongJob("backup", timedelta(days=1), nightly, AT),
        LongJob("room on the disk", timedelta(hours=1), lambda _now, _paused: make_room(folder)),
    )


def read_backups(connection: Connection, folder: Path | None, now: datetime) -> dict[str, Any]:
    """What the watch knows of its backups, as members of its evidence; nothing without a folder of them.

    The age of the newest; how long there has been something to keep; why the newest one failed, unless a
    later one did not.
    """
    if folder is None:
        return {}
    found = backups_in(folder / FOLDER)
    newest = found[0].at if found else None
    began = connection.execute(select(func.min(probe.c.created_at))).scalar()
    failed = read_mark(connection, FAILED)
    stands = failed is not None and (newest is None or datetime.fromisoformat(failed["at"]) >= newest)
    return {
        "backup_age_s": None if newest is None else max((now - newest).total_seconds(), 0.0),
        "kept_for_s": None if began is None else (now - began).total_seconds(),
        "backup_failure": str(failed["why"]) if failed is not None and stands else "",
    }
