"""What is written beside each backup, so that it can be told later whether it is still the same file."""

import json
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from service.errors import GylewatchError
from service.record.keeping import write_through

FOLDER = "backups"
FORMAT = 1
NAME = re.compile(r"record-(\d{8}T\d{6}Z)\.db")


class BackupError(GylewatchError):
    """A backup could not be made, or cannot be used; nothing was changed."""


@dataclass(frozen=True, slots=True)
class Description:
    """A backup in words and figures.

    made_at: RFC 3339, UTC. program and schema: which gylewatch wrote it. figures: rows by table and sums
    by ``table.column``, of the original at that moment.
    """

    made_at: str
    program: str
    schema: str
    size: int
    sha256: str
    figures: Mapping[str, int]
    format: int = FORMAT


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup as found: its file and the time in its name."""

    path: Path
    at: datetime

    @property
    def beside(self) -> Path:
        """Where its description lies."""
        return self.path.with_suffix(".json")


def name_at(now: datetime) -> str:
    """The name of a backup made at an aware time."""
    return f"record-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}.db"


def backup_at(path: Path) -> Backup:
    """A file as a backup; BackupError when its name is not one of a backup."""
    match = NAME.fullmatch(path.name)
    if match is None:
        raise BackupError(f"{path} is not named like a backup (record-20261125T030000Z.db).")
    return Backup(path, datetime.strptime(match[1], "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC))


def backups_in(folder: Path) -> list[Backup]:
    """The finished backups of a folder, newest first: those with a description beside them."""
    if not folder.is_dir():
        return []
    found = [backup_at(path) for path in folder.iterdir() if NAME.fullmatch(path.name)]
    return sorted((b for b in found if b.beside.exists()), key=lambda b: b.at, reverse=True)


def write_description(backup: Backup, description: Description) -> None:
    """Write it beside the backup; from then on the backup counts."""
    write_through(backup.beside, json.dumps(asdict(description), indent=1) + "\n")


def description_of(backup: Backup) -> Description:
    """What is written beside a backup; BackupError when there is nothing, or nothing that can be used."""
    try:
        text = backup.beside.read_text()
    except OSError as refused:
        raise BackupError(
            f"{backup.beside} cannot be read ({refused.strerror}). It tells whether the backup beside it "
            "was altered: the two files belong together."
        ) from None
    try:
        found = json.loads(text)
        if found["format"] != FORMAT:
            raise BackupError(f"{backup.beside} was written by a newer gylewatch; use that version.")
        return Description(
            made_at=str(found["made_at"]),
            program=str(found["program"]),
            schema=str(found["schema"]),
            size=int(found["size"]),
            sha256=str(found["sha256"]),
            figures={str(name): int(value) for name, value in found["figures"].items()},
        )
    except (ValueError, KeyError, TypeError, AttributeError):
        raise BackupError(f"{backup.beside} is damaged, so the backup cannot be checked.") from None
