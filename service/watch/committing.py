"""What one commit takes along, and when one is due.

Minutes go out once a minute; at once for a transition, a message, a new kind of fault or a probe's first
sample. A kill loses at most the minute in progress.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any, Protocol

from sqlalchemy import Connection

from service.alarms.model import AlarmState, Subject
from service.alarms.rules import boiling_plateau_c
from service.plans.course import Course, CourseState, course_to_json
from service.plans.places import Place, close
from service.record import batches as stored_batches
from service.record.database import Record
from service.record.marks import add_doubtful, count_faults, read_mark, set_mark
from service.record.minutes import date_undated, has_undated, keep_undated, newest_minute, write_minutes
from service.record.types import EPOCH
from service.watch.book import Book, Change
from service.watch.fold import minute_of
from service.watch.house import House
from service.watch.intake import Intake, Kept
from service.watch.judge import Judgement
from service.watch.progress import Progress, progress_from, progress_name
from service.watch.speech import Voice

LAST_COMMIT = "last-commit"
COMMIT_EVERY_S = 60.0
SHORT_S = 5.0


class ClockLike(Protocol):
    """What of the clock is needed here."""

    @property
    def boot_id(self) -> str: ...

    def now(self) -> datetime: ...

    def monotonic(self) -> float: ...

    def since_boot_s(self) -> float: ...


class Committing:
    """Remembers what was committed, and decides when the next commit is due."""

    def __init__(self, clock: ClockLike) -> None:
        self._clock = clock
        self.last_mono = clock.monotonic()
        self.newest: datetime | None = None
        self.progress: dict[str, Progress] = {}
        self.plateaus: dict[str, float] = {}
        self._known_kinds: set[tuple[str, str]] = set()
        self._heard: set[int] = set()
        self._undated = False
        self._plateaus_stored: dict[str, float] = {}

    def load(self, connection: Connection, house: House) -> None:
        """Read what was remembered at the last commit."""
        self._undated = has_undated(connection, self._clock.boot_id)
        newest = newest_minute(connection)
        self.newest = None if newest is None else EPOCH + timedelta(minutes=newest)
        for live in house.batches:
            here = [place.vessel_id for place in live.row.places if place.to_at is None]
            for name in (live.row.id, *(progress_name(live.row.id, one, first=False) for one in here[1:])):
                remembered = read_mark(connection, f"band:{name}")
                if remembered is not None:
                    self.progress[name] = progress_from(remembered, int(remembered["step"]))
        self.plateaus = dict(read_mark(connection, "plateaus") or {})
        self._plateaus_stored = dict(self.plateaus)

    def clock_moved(self, by: timedelta) -> None:
        """The wall clock was set while the watch ran: running times move along."""
        self.progress = {batch_id: stands.moved(by) for batch_id, stands in self.progress.items()}

    def is_due(self, intake: Intake, judgement: Judgement) -> bool:
        """Whether something wants a commit now."""
        mono = self._clock.monotonic()
        waited_s = mono - self.last_mono
        if waited_s >= COMMIT_EVERY_S:
            return True
        first = {number for number, _ in intake.open} - self._heard
        kinds = {(str(f.probe_id), f.kind.value) for f in intake.faults} - self._known_kinds
        reached = any(
            (old := self.progress.get(batch_id)) is None
            or (old.step, old.reached_at) != (new.step, new.reached_at)
            for batch_id, new in judgement.progress.items()
        )
        return bool(first or kinds or reached)

    def learn_plateaus(self, intake: Intake, house: House, now: datetime) -> None:
        """Remember where each kettle boils by its own probe."""
        for vessel in house.vessels.values():
            probe = house.probe_of(vessel.id, "liquid", now) if vessel.kind == "kettle" else None
            seen = None if probe is None else intake.live.get(probe.id)
            if probe is not None and seen is not None:
                plateau = boiling_plateau_c(list(seen.recent))
                if plateau is not None:
                    self.plateaus[probe.id] = round(plateau, 2)

    def commit(
        self,
        record: Record,
        intake: Intake,
        book: Book,
        house: House,
        judgement: Judgement,
        change: Change,
        voice: Voice,
        now: datetime,
    ) -> dict[Subject, AlarmState]:
        """Write everything in one transaction; returns the alarms' states as committed."""
        rows = intake.rows_to_store()
        faults = list(intake.faults)
        progress = {**self.progress, **judgement.progress}

        def work(connection: Connection) -> dict[Subject, AlarmState]:
            self._write_minutes(connection, rows, now)
            count_faults(connection, faults)
            for batch_id, course in judgement.courses.items():
                _go_on(connection, house, batch_id, course)
            for batch_id, stands in judgement.progress.items():
                if (
                    self.progress.get(batch_id) is None
                    or self.progress[batch_id].to_json() != stands.to_json()
                ):
                    set_mark(connection, f"band:{batch_id}", stands.to_json())
            if self.plateaus != self._plateaus_stored:
                set_mark(connection, "plateaus", dict(self.plateaus))
            states = book.commit(connection, change, voice, now)
            set_mark(connection, LAST_COMMIT, now.isoformat())
            return states

        states = record.write(work)
        self.last_mono = self._clock.monotonic()
        self.progress = progress
        self._plateaus_stored = dict(self.plateaus)
        self._heard |= {kept.row.probe for kept in rows}
        self._known_kinds |= {(str(f.probe_id), f.kind.value) for f in faults}
        dated = [kept.row.minute for kept in rows if kept.dated]
        if dated:
            newest = EPOCH + timedelta(minutes=max(dated))
            self.newest = newest if self.newest is None else max(self.newest, newest)
        self._undated = any(not kept.dated for kept in rows) or (self._undated and not dated)
        intake.stored(rows, len(faults))
        return states

    def _write_minutes(self, connection: Connection, rows: list[Kept], now: datetime) -> None:
        dated = [kept.row for kept in rows if kept.dated]
        undated = [kept.row for kept in rows if not kept.dated]
        if undated:
            keep_undated(connection, self._clock.boot_id, undated)
        if dated and self._undated:
            boot_at = now - timedelta(seconds=self._clock.since_boot_s())
            count = date_undated(connection, self._clock.boot_id, minute_of(boot_at))
            if count:
                add_doubtful(connection, boot_at, now, "dated after the clock was set")
        write_minutes(connection, dated)


def _go_on(connection: Connection, house: House, batch_id: str, course: Course) -> None:
    """Store a course that went on by itself, unless somebody changed the batch in the meantime."""
    live = next(b for b in house.batches if b.row.id == batch_id)
    row = stored_batches.batch_by_id(connection, batch_id)
    if row.version != live.row.version:
        return
    changes: Mapping[str, Any] = {"course": course_to_json(course), "state": course.state.value}
    stored_batches.change_batch(connection, batch_id, changes)
    if course.state is CourseState.ENDED and course.ended_at is not None:
        places = close([Place(p.vessel_id, p.from_at, p.to_at) for p in row.places], course.ended_at)
        stored_batches.put_places(connection, batch_id, [(p.vessel_id, p.from_at, p.to_at) for p in places])
