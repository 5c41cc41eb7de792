"""How the log is written: readable anywhere, and with its levels kept where the journal reads it."""

import logging
import os
import sys
from collections.abc import Mapping
from typing import TextIO

QUIET = ("httpx", "httpcore", "apscheduler", "alembic", "uvicorn")


def in_journal(environment: Mapping[str, str], stream: TextIO) -> bool:
    """Whether a stream leads straight into the systemd journal (systemd.exec(5), ``JOURNAL_STREAM``)."""
    try:
        seen = os.fstat(stream.fileno())
    except (OSError, ValueError):
        return False
    return environment.get("JOURNAL_STREAM", "") == f"{seen.st_dev}:{seen.st_ino}"


class JournalFormatter(logging.Formatter):
    """Each line with its level in front, as the journal reads it (sd-daemon(3)); it adds the time.

    ``journalctl -p warning`` then finds what it should, and a traceback stays at the level of its message.
    """

    LEVELS = ((logging.CRITICAL, 2), (logging.ERROR, 3), (logging.WARNING, 4), (logging.INFO, 6))

    def __init__(self) -> None:
        super().__init__("%(name)s: %(message)s")

    def format(self, record: logging.LogRecord) -> str:
        level = next((number for least, number in self.LEVELS if record.levelno >= least), 7)
        return "\n".join(f"<{level}>{line}" for line in super().format(record).splitlines())


def begin_logging(level: str, environment: Mapping[str, str], stream: TextIO = sys.stderr) -> None:
    """Log to a stream from a level on; libraries that talk much only from warnings on."""
    handler = logging.StreamHandler(stream)
    if in_journal(environment, stream):
        handler.setFormatter(JournalFormatter())
    else:
        handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    logging.basicConfig(level=level.upper(), handlers=[handler])
    for noisy in QUIET:
        logging.getLogger(noisy).setLevel(logging.WARNING)
