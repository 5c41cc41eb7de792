"""The way back: a checked backup in the record's place, after a look at what that would change."""

import shutil
import sqlite3
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from service.record.backup.description import Backup, BackupError, Description
from service.record.backup.verifying import verify
from service.record.sqlite_files import Paused, figures, opened, sha256_of, sync
from service.record.swapping import swap_in

FRESH = "record.db.restoring"


@dataclass(frozen=True, slots=True)
class Preview:
    """What a restore would do. present: the figures of the record in use, None: missing or unreadable."""

    backup: Backup
    description: Description
    present: Mapping[str, int] | None
    why_not: str

    def sentences(self) -> list[str]:
        """The same for a person, a sentence a line."""
        found = [
            f"The backup {self.backup.path} of {self.description.made_at} is whole: "
            f"{_many(self.description.figures)}.",
        ]
        if self.present is None:
            found.append(f"The record in use {self.why_not}.")
        else:
            found.append(f"The record in use has {_many(self.present)}.")
            lost = self.present.get("minute", 0) - self.description.figures.get("minute", 0)
            if lost > 0:
                found.append(
                    f"{lost:,} minutes of it are not in the backup; they stay only in what is set aside."
                )
        found.append("The record in use is set aside first, in set-aside/; nothing is deleted.")
        return found


def _many(counted: Mapping[str, int]) -> str:
    return ", ".join(
        f"{counted.get(table, 0):,} {words}"
        for table, words in (
            ("batch", "batches"),
            ("entry", "entries"),
            ("alarm", "alarms"),
            ("minute", "minutes"),
        )
    )


def preview(folder: Path, backup: Backup, paused: Paused) -> Preview:
    """Check the backup and compare it with the record in use. BackupError: it cannot be used."""
    description = verify(backup, paused)
    record = folder / "record.db"
    if not record.exists():
        return Preview(backup, description, None, "is missing")
    try:
        with closing(opened(record)) as connection:
            return Preview(backup, description, figures(connection, paused), "")
    except sqlite3.DatabaseError as refused:
        return Preview(backup, description, None, f"cannot be read ({refused})")


def restore(folder: Path, seen: Preview, now: datetime, paused: Paused) -> Path | None:
    """Put the backup that was looked at in the record's place; returns where the old one is kept.

    The data folder's lock must be held. Raises BackupError or SwapError; the record is as it was then.
    """
    fresh = folder / FRESH
    try:
        fresh.unlink(missing_ok=True)
        fresh.touch(mode=0o600)
        shutil.copyfile(seen.backup.path, fresh)
        sync(fresh)
        if sha256_of(fresh, paused) != seen.description.sha256:
            raise BackupError("The backup changed while it was copied, or the disk is failing.")
        return swap_in(folder, fresh, now)
    except OSError as refused:
        raise BackupError(f"The backup could not be copied: {refused.strerror}.") from refused
    finally:
        for end in ("", "-journal", "-wal", "-shm"):
            fresh.with_name(fresh.name + end).unlink(missing_ok=True)
