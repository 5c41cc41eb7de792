"""Wall-clock jobs: when they run, and what is remembered of them."""

import threading
from datetime import UTC, datetime, time, timedelta

import pytest

from service.errors import UnavailableError
from service.record.marks import read_mark
from service.watch.jobs import JOBS, Jobs, LongJob, next_run, overdue, run_job
from tests.rig import START, Rig
from tests.running import eventually

DAY = timedelta(days=1)


@pytest.mark.parametrize(
    ("last", "wanted"),
    [
        (None, START + timedelta(minutes=2)),
        (START - timedelta(hours=1), START + timedelta(hours=23)),
        (START - timedelta(days=9), START + timedelta(minutes=2)),
        (START + timedelta(days=9), START + timedelta(minutes=2)),
    ],
)
def test_a_job_runs_when_its_time_has_come_or_soon_when_that_was_missed(
    last: datetime | None, wanted: datetime
) -> None:
    assert next_run(last, DAY, START) == wanted


@pytest.mark.parametrize(
    ("last", "wanted"),
    [
        (None, True),
        (START - timedelta(hours=23), False),
        (START - DAY, True),
        (START + timedelta(minutes=1), True),
    ],
)
def test_a_nightly_job_is_made_up_for_when_a_night_was_missed(last: datetime | None, wanted: bool) -> None:
    assert overdue(last, DAY, START) is wanted


def test_when_a_job_last_ran_is_remembered_with_what_it_did(rig: Rig) -> None:
    run_job(rig.record, JOBS[0], START)

    with rig.record.reading() as connection:
        assert read_mark(connection, f"job:{JOBS[0].name}") == START.isoformat()


def test_long_work_that_fails_does_not_count_as_run(rig: Rig) -> None:
    def fail(_now: datetime, _paused: object) -> int:
        raise UnavailableError("Not now.")

    with pytest.raises(UnavailableError):
        Jobs(rig.record, rig.clock.now).run_long(LongJob("long", DAY, fail))

    with rig.record.reading() as connection:
        assert read_mark(connection, "job:long") is None


def test_long_work_is_told_to_give_up_when_the_program_ends(rig: Rig) -> None:
    began, told = threading.Event(), threading.Event()

    def work(_now: datetime, paused: object) -> int:
        assert callable(paused)
        began.set()
        if paused(20):
            told.set()
        return 0

    real_now = datetime.now(UTC)
    jobs = Jobs(
        rig.record, lambda: real_now - timedelta(minutes=2), [LongJob("long", DAY, work, time(3, 20))]
    )
    jobs.start()
    eventually(began.is_set, 5, "the overdue job")
    jobs.stop()

    assert told.wait(5)
