"""Whether the record is whole: looked at in the background after an end that was not clean."""

import logging
import threading
from collections.abc import Callable
from pathlib import Path

from sqlalchemy import Connection

from service.errors import GylewatchError
from service.record.database import Record
from service.record.keeping import SUSPECT
from service.record.marks import read_mark, set_mark

log = logging.getLogger("gylewatch.record")

CLEAN_END = "clean-end"


class Wholeness:
    """A part of the running program: notes clean ends, and checks the record after one that was not."""

    def __init__(self, record: Record, folder: Path | None, damaged: Callable[[str], None]) -> None:
        self._record = record
        self._folder = folder
        self._damaged = damaged
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin a run; after an unclean end the check goes on beside the watch, which does not wait."""

        def begin(connection: Connection) -> bool:
            before = read_mark(connection, CLEAN_END)
            set_mark(connection, CLEAN_END, False)
            return before is False

        if self._record.write(begin):
            log.info("the last end was not clean; the record is being checked")
            self._thread = threading.Thread(target=self.check, name="integrity-check", daemon=True)
            self._thread.start()

    def stop(self) -> None:
        """Note a clean end."""
        try:
            self._record.write(lambda connection: set_mark(connection, CLEAN_END, True))
        except GylewatchError as refused:
            log.warning("the clean end could not be noted: %s", refused)

    def check(self) -> str:
        """Look through the whole record; damage is told, and set aside at the next start."""
        found = self._record.damage()
        if not found:
            log.info("the record is whole")
            return ""
        log.error("the record is damaged: %s", found)
        if self._folder is not None:
            (self._folder / SUSPECT).touch()
        self._damaged("record.db, which is set aside when gylewatch is restarted")
        return found
