"""How the watch itself fares: the facts about itself that it judges, and those that are read seldom."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from service.record.database import Record
from service.watch.backups import read_backups
from service.watch.evidence import SelfEvidence
from service.watch.gather import free_bytes, read_day_ago, read_stuck
from service.watch.house import House

SLOW_FACTS_EVERY_S = 300.0


class Condition:
    """Keeps the evidence about the watch from round to round.

    folder: where the record lies, None elsewhere than in files. backups: the data folder when backups are
    made of it. last_commit: when an earlier run committed last, None on a first start. set_aside: where a
    damaged record went.
    """

    def __init__(
        self,
        record: Record,
        monotonic: Callable[[], float],
        folder: Path | None,
        backups: Path | None,
        last_commit: datetime | None,
        set_aside: str | None,
    ) -> None:
        self._record = record
        self._monotonic = monotonic
        self._folder = folder
        self._backups = backups
        self._began = monotonic()
        self._last_commit = last_commit
        self._down_unsaid = last_commit is not None
        self._read_at = float("-inf")
        self.evidence = SelfEvidence(set_aside=set_aside)
        self.day_ago: dict[str, float] = {}

    def look(self, house: House, now: datetime, doubt: str, still_doubtful: str) -> SelfEvidence:
        """The evidence of this round. doubt: why nothing may be dated now; still_doubtful: why the clock
        is not believed although it is dated by."""
        mono = self._monotonic()
        fresh = replace(self.evidence, clock_doubt=doubt or still_doubtful)
        if mono - self._read_at >= SLOW_FACTS_EVERY_S:
            self._read_at = mono
            with self._record.reading() as connection:
                self.day_ago = read_day_ago(connection, house, now)
                fresh = replace(
                    fresh,
                    free_bytes=free_bytes(self._folder),
                    stuck=read_stuck(connection, house, now),
                    **read_backups(connection, self._backups, now),
                )
        if self._down_unsaid and not doubt:
            self._down_unsaid = False
            fresh = replace(fresh, down_s=self._down_s(now))
        self.evidence = fresh
        return fresh

    def read_again(self) -> None:
        """Read the slow facts in the next round: somebody changed something."""
        self._read_at = float("-inf")

    def damaged(self, what: str) -> None:
        """The record was found to be damaged while in use."""
        self.evidence = replace(self.evidence, set_aside=what)

    def was_judged(self) -> None:
        """What happened before this start has been judged now; the alarm itself remembers it."""
        self.evidence = replace(self.evidence, down_s=None, set_aside=None)

    def _down_s(self, now: datetime) -> float | None:
        """How long nobody watched before this start, once the clock can be believed."""
        if self._last_commit is None:
            return None
        started = now - timedelta(seconds=self._monotonic() - self._began)
        return max((started - self._last_commit).total_seconds(), 0.0)
