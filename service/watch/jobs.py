"""Work that goes by the wall clock: dropping what is kept for a while only, and long work beside the watch.

APScheduler runs it; when each job last ran is kept in the record, so that one missed while the machine
was off is made up for soon after the start.
"""

import logging
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta, tzinfo

from apscheduler.schedulers.background import BackgroundScheduler
from sqlalchemy import Connection

from service.errors import GylewatchError
from service.record.database import Record
from service.record.marks import ANSWERS_KEPT, forget_answers, read_mark, set_mark
from service.watch.arrivals import forget_raw

log = logging.getLogger("gylewatch.jobs")

SOON = timedelta(minutes=2)


@dataclass(frozen=True, slots=True)
class Job:
    """One job: its name, how often it runs, and what it does inside a transaction; it returns a count."""

    name: str
    every: timedelta
    work: Callable[[Connection, datetime], int]


@dataclass(frozen=True, slots=True)
class LongJob:
    """Long work outside any transaction. `work` gets the time and a pause that tells when to give up.

    at: the brewer's time of day it runs at; None: whenever `every` has passed.
    """

    name: str
    every: timedelta
    work: Callable[[datetime, Callable[[float], bool]], int]
    at: time | None = None


JOBS = (
    Job("drop raw samples", timedelta(days=1), forget_raw),
    Job("drop kept answers", timedelta(hours=1), lambda c, now: forget_answers(c, now - ANSWERS_KEPT)),
)


def next_run(last: datetime | None, every: timedelta, now: datetime) -> datetime:
    """When a job runs next: at its time, or soon when that has passed (or lies absurdly far ahead)."""
    if last is None or last > now:
        return now + SOON
    return max(last + every, now + SOON)


def run_job(record: Record, job: Job, now: datetime) -> int:
    """Run a job and remember when, in one transaction; returns its count."""

    def work(connection: Connection) -> int:
        count = job.work(connection, now)
        set_mark(connection, f"job:{job.name}", now.isoformat())
        return count

    return record.write(work)


def overdue(last: datetime | None, every: timedelta, now: datetime) -> bool:
    """Whether a job with a time of day was missed (or never ran, or ran absurdly far ahead)."""
    return last is None or last > now or now - last >= every


class Jobs:
    """The wall-clock jobs of a running program."""

    def __init__(
        self,
        record: Record,
        now: Callable[[], datetime],
        long_jobs: Sequence[LongJob] = (),
        zone: tzinfo = UTC,
    ) -> None:
        self._record = record
        self._now = now
        self._long_jobs = long_jobs
        self._zone = zone
        self._stopping = threading.Event()
        self._scheduler = BackgroundScheduler(
            timezone="UTC", job_defaults={"coalesce": True, "misfire_grace_time": None}
        )

    def start(self) -> None:
        """Begin to run them."""
        now = self._now()
        for job in JOBS:
            self._scheduler.add_job(
                self._run,
                "interval",
                (lambda job=job: run_job(self._record, job, self._now()), job.name),
                seconds=job.every.total_seconds(),
                next_run_time=next_run(self._last(job.name), job.every, now),
            )
        for long in self._long_jobs:
            self._plan(long, now)
        self._scheduler.start()

    def stop(self) -> None:
        """End without waiting; long work gives up."""
        self._stopping.set()
        self._scheduler.shutdown(wait=False)

    def _plan(self, job: LongJob, now: datetime) -> None:
        last = self._last(job.name)
        call = (lambda: self.run_long(job), job.name)
        if job.at is None:
            first = next_run(last, job.every, now)
            self._scheduler.add_job(
                self._run, "interval", call, seconds=job.every.total_seconds(), next_run_time=first
            )
            return
        soon = {"next_run_time": now + SOON} if overdue(last, job.every, now) else {}
        self._scheduler.add_job(
            self._run, "cron", call, hour=job.at.hour, minute=job.at.minute, timezone=self._zone, **soon
        )

    def _last(self, name: str) -> datetime | None:
        with self._record.reading() as connection:
            last = read_mark(connection, f"job:{name}")
        return None if last is None else datetime.fromisoformat(last)

    def run_long(self, job: LongJob) -> int:
        """Run long work now and remember when; returns its count."""
        now = self._now()
        count = job.work(now, self._stopping.wait)
        self._record.write(lambda connection: set_mark(connection, f"job:{job.name}", now.isoformat()))
        return count

    def _run(self, work: Callable[[], int], name: str) -> None:
        try:
            count = work()
        except GylewatchError as refused:
            log.warning("%s: %s", name, refused)
        else:
            log.info("%s: %d", name, count)
