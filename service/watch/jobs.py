"""Work that goes by the wall clock: dropping what is kept for a while only.

APScheduler runs it; when each job last ran is kept in the record, so that one missed while the machine
was off is made up for soon after the start.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

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


class Jobs:
    """The wall-clock jobs of a running program."""

    def __init__(self, record: Record, now: Callable[[], datetime]) -> None:
        self._record = record
        self._now = now
        self._scheduler = BackgroundScheduler(
            timezone="UTC", job_defaults={"coalesce": True, "misfire_grace_time": None}
        )

    def start(self) -> None:
        """Begin to run them."""
        now = self._now()
        for job in JOBS:
            with self._record.reading() as connection:
                last = read_mark(connection, f"job:{job.name}")
            first = next_run(None if last is None else datetime.fromisoformat(last), job.every, now)
            self._scheduler.add_job(
                self._run, "interval", (job,), seconds=job.every.total_seconds(), next_run_time=first
            )
        self._scheduler.start()

    def stop(self) -> None:
        """End without waiting."""
        self._scheduler.shutdown(wait=False)

    def _run(self, job: Job) -> None:
        try:
            count = run_job(self._record, job, self._now())
        except GylewatchError as refused:
            log.warning("%s: %s", job.name, refused)
        else:
            log.info("%s: %d", job.name, count)
