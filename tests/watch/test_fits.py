"""The worker that is asked, bounded and alone, and the part that has batches looked at."""

import json
import subprocess
import sys
import threading
import time
from collections.abc import Mapping
from itertools import pairwise

import pytest

from service.errors import UnavailableError
from service.thermal.jobs import to_json
from service.watch.fits import EVERY_S, GLANCE_EVERY_S, Fits, Worker, WorkerFailedError
from tests.thermal.build import batch, known

JOB = {"kind": "estimate", "input": to_json(known(batch(30), 30))}
ECHO = (
    sys.executable,
    "-c",
    "import sys, json; json.dump({'ok': True, 'job': json.load(sys.stdin)}, sys.stdout)",
)
STAMPS = (
    sys.executable,
    "-c",
    "import json, sys, time; a = time.time(); time.sleep(0.2);"
    " json.dump({'ok': True, 'began': a, 'ended': time.time()}, sys.stdout)",
)
SLEEPS = (sys.executable, "-c", "import time; time.sleep(30)")


def test_it_answers_and_its_process_is_gone_afterwards() -> None:
    answer = Worker().ask(JOB)

    assert answer["answer"]["at"] == "2026-02-04T15:00:00Z"
    assert answer["answer"]["verdict"] in ("waiting", "working")


def test_the_asking_process_never_loads_numpy() -> None:
    script = (
        "import json, sys\n"
        "from service.api.app import create_app\n"
        "from service.actions.lookout import Lookout\n"
        "from service.watch.fits import Worker\n"
        "answer = Worker().ask(json.load(sys.stdin))\n"
        "assert answer['answer']['verdict']\n"
        "print(sorted(m for m in sys.modules if m.split('.')[0] in ('numpy', 'scipy')))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], input=json.dumps(JOB), capture_output=True, text=True, check=False
    )

    assert (done.stdout.strip(), done.returncode) == ("[]", 0), done.stderr


def test_a_worker_that_takes_too_long_is_ended() -> None:
    began = time.monotonic()

    with pytest.raises(WorkerFailedError, match=r"longer than 0\.2 s"):
        Worker(SLEEPS, 0.2).ask(JOB)

    assert time.monotonic() - began < 5


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ((sys.executable, "-c", "raise ValueError('no solution')"), "no solution"),
        ((sys.executable, "-c", "import sys; sys.exit(3)"), "it ended with 3"),
    ],
)
def test_a_worker_that_breaks_is_said_in_words(command: tuple[str, ...], words: str) -> None:
    with pytest.raises(WorkerFailedError, match=words):
        Worker(command, 20).ask(JOB)


def test_a_job_that_cannot_be_read_names_the_member() -> None:
    with pytest.raises(WorkerFailedError, match="/at has no offset"):
        Worker().ask({"kind": "estimate", "input": {"at": "2026-02-04T15:00:00"}})


def test_only_one_runs_at_a_time() -> None:
    worker = Worker(STAMPS, 20)
    spans: list[tuple[float, float]] = []

    def ask() -> None:
        answer = worker.ask(JOB)
        spans.append((answer["began"], answer["ended"]))

    threads = [threading.Thread(target=ask) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(spans) == 3
    for (_, ended), (began, _) in pairwise(sorted(spans)):
        assert ended <= began


def test_a_closed_one_ends_what_runs_and_starts_no_other() -> None:
    worker = Worker(SLEEPS, 20)
    ended: list[float] = []

    def ask() -> None:
        with pytest.raises(WorkerFailedError):
            worker.ask(JOB)
        ended.append(time.monotonic())

    thread = threading.Thread(target=ask)
    thread.start()
    time.sleep(0.5)
    began = time.monotonic()
    worker.close()
    thread.join(5)

    assert ended
    assert ended[0] - began < 2
    with pytest.raises(UnavailableError, match="ending"):
        worker.ask(JOB)


class HandLooker:
    """Remembers what was asked of it."""

    def __init__(self) -> None:
        self.told: dict[str, object] = {"ale": 1}
        self.seen: list[str] = []
        self.breaks = False

    def wanted(self) -> Mapping[str, object]:
        return self.told

    def look(self, batch_id: str) -> None:
        self.seen.append(batch_id)
        if self.breaks:
            raise UnavailableError("busy")

    def glance(self) -> None:
        self.seen.append("glance")


class Seconds:
    """A monotonic clock moved by hand."""

    def __init__(self) -> None:
        self.at = 0.0

    def __call__(self) -> float:
        return self.at


def fits() -> tuple[Fits, HandLooker, Seconds]:
    looker, clock = HandLooker(), Seconds()
    return Fits(looker, Worker(ECHO), clock, 0.0, 0.01), looker, clock


def test_each_batch_is_looked_at_hourly_and_glanced_at_in_between() -> None:
    part, looker, clock = fits()

    for at in (0, 60, GLANCE_EVERY_S, EVERY_S):
        clock.at = at
        part.turn()

    assert looker.seen == ["ale", "glance", "glance", "ale", "glance"]


def test_what_was_told_is_looked_at_without_waiting_for_the_hour() -> None:
    part, looker, _ = fits()
    part.turn()

    looker.told = {"ale": 2}
    part.turn()

    assert looker.seen == ["ale", "glance", "ale", "glance"]


def test_a_look_that_fails_is_made_again_an_hour_later_and_stops_nothing() -> None:
    part, looker, clock = fits()
    looker.breaks = True

    part.turn()
    clock.at = 60
    part.turn()
    clock.at = EVERY_S
    part.turn()

    assert looker.seen == ["ale", "glance", "ale", "glance"]


def test_it_runs_in_a_thread_of_its_own_and_stops() -> None:
    part, looker, _ = fits()

    part.start()
    until = time.monotonic() + 5
    while not looker.seen and time.monotonic() < until:
        time.sleep(0.01)
    part.stop()

    assert looker.seen[:2] == ["ale", "glance"]
