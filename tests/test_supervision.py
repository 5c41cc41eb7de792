"""What the supervisor hears: from a real datagram socket, as systemd would listen."""

import os
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.errors import UnavailableError
from service.supervision import (
    SLOWEST_IDLE_S,
    Notifier,
    Rounds,
    Supervised,
    allowed_s,
    came_round,
    supervised_from,
    watchdog_s,
)
from tests.running import Running, eventually


class Ear:
    """A supervisor's end of the protocol: keeps every datagram."""

    def __init__(self, address: str | bytes) -> None:
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self._socket.bind(address)
        self._socket.settimeout(0.2)
        self.heard: list[str] = []
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._listen, daemon=True)
        self._thread.start()

    def _listen(self) -> None:
        while not self._ending.is_set():
            try:
                self.heard.append(self._socket.recv(4096).decode())
            except TimeoutError:
                continue

    def count(self, line: str) -> int:
        """How many datagrams had this line."""
        return sum(line in one.split("\n") for one in self.heard)

    def close(self) -> None:
        self._ending.set()
        self._thread.join()
        self._socket.close()


@pytest.fixture
def ear(tmp_path: Path) -> Iterator[Ear]:
    made = Ear(str(tmp_path / "notify"))
    yield made
    made.close()


class Loops:
    """Three loops that go round when told, or by themselves when nudged."""

    def __init__(self) -> None:
        self.watch, self.writer, self.deliverer = Rounds(), Rounds(), Rounds()
        self.stuck: set[Rounds] = set()
        self.refuses = False

    def counts(self) -> dict[str, Callable[[], int]]:
        return {
            "watch": lambda: self.watch.count,
            "writer": lambda: self.writer.count,
            "deliverer": lambda: self.deliverer.count,
        }

    def nudge(self) -> None:
        for loop in (self.watch, self.writer, self.deliverer):
            if loop not in self.stuck:
                loop.one_more()
        if self.refuses:
            raise UnavailableError("The disk is full.")


def supervised(tmp_path: Path, loops: Loops, watchdog: float | None, sweep_s: float = 10.0) -> Supervised:
    """Supervision that looks at its loops twenty times a second."""
    notifier = Notifier(str(tmp_path / "notify"))
    return Supervised(notifier, watchdog, sweep_s, loops.counts(), [loops.nudge], look_s=0.05)


def test_it_is_ready_only_when_the_server_answers_and_every_loop_came_round(ear: Ear, tmp_path: Path) -> None:
    loops = Loops()
    loops.stuck = {loops.deliverer}
    told = supervised(tmp_path, loops, None)

    told.start()
    time.sleep(0.2)
    before_it_opened = ear.count("READY=1")
    told.opened()
    time.sleep(0.2)
    before_the_deliverer = ear.count("READY=1")
    loops.stuck = set()
    eventually(lambda: ear.count("READY=1"), 3, "readiness")
    told.stop()
    eventually(lambda: ear.count("STOPPING=1"), 3, "the word of the end")

    assert (before_it_opened, before_the_deliverer) == (0, 0)
    assert ear.count("READY=1") == 1
    assert ear.count("WATCHDOG=1") == 0


@pytest.mark.parametrize("stuck", ["watch", "writer", "deliverer"])
def test_a_single_stuck_loop_ends_the_feeding(ear: Ear, tmp_path: Path, stuck: str) -> None:
    loops = Loops()
    told = supervised(tmp_path, loops, 120.0)
    told.start()
    told.opened()
    eventually(lambda: ear.count("WATCHDOG=1") >= 3, 5, "feeding")

    loops.stuck = {getattr(loops, stuck)}
    time.sleep(0.2)
    fed = ear.count("WATCHDOG=1")
    time.sleep(0.4)
    fed_while_stuck = ear.count("WATCHDOG=1") - fed
    loops.stuck = set()
    eventually(lambda: ear.count("WATCHDOG=1") > fed, 5, "feeding again")
    told.stop()

    assert fed_while_stuck == 0


def test_a_loop_that_fails_still_came_round(ear: Ear, tmp_path: Path) -> None:
    loops = Loops()
    loops.refuses = True
    told = supervised(tmp_path, loops, 120.0)

    told.start()
    told.opened()
    eventually(lambda: ear.count("WATCHDOG=1") >= 2, 5, "feeding")
    told.stop()


def test_it_asks_for_more_time_where_sweeps_are_far_apart(ear: Ear, tmp_path: Path) -> None:
    loops = Loops()
    told = supervised(tmp_path, loops, 120.0, sweep_s=300.0)

    told.start()
    told.opened()
    eventually(lambda: ear.count("READY=1"), 3, "readiness")
    told.stop()

    assert ear.heard[0] == "WATCHDOG_USEC=930000000"


@given(asked=st.floats(1, 1e5), sweep=st.floats(1, 300))
@settings(max_examples=50)
def test_the_time_asked_for_covers_two_rounds_of_the_slowest_loop_and_is_never_less_than_given(
    asked: float, sweep: float
) -> None:
    got = allowed_s(asked, sweep)

    assert got >= asked
    assert got * (1 - 1 / 8) > 2 * max(sweep, SLOWEST_IDLE_S)


@pytest.mark.parametrize(
    ("environment", "seconds"),
    [
        ({}, None),
        ({"WATCHDOG_USEC": "120000000"}, 120.0),
        ({"WATCHDOG_USEC": "120000000", "WATCHDOG_PID": "7"}, 120.0),
        ({"WATCHDOG_USEC": "120000000", "WATCHDOG_PID": "8"}, None),
        ({"WATCHDOG_USEC": "0"}, None),
        ({"WATCHDOG_USEC": "soon"}, None),
    ],
)
def test_the_watchdog_is_for_the_process_it_names(environment: dict[str, str], seconds: float | None) -> None:
    assert watchdog_s(environment, 7) == seconds


def test_every_loop_must_have_come_round() -> None:
    assert came_round({"a": 1, "b": 4}, {"a": 2, "b": 5})
    assert not came_round({"a": 1, "b": 4}, {"a": 2, "b": 4})


def test_an_abstract_socket_is_reached(tmp_path: Path) -> None:
    name = f"gylewatch-test-{os.getpid()}"
    ear = Ear(b"\0" + name.encode())

    Notifier(f"@{name}").tell("READY=1", "STATUS=Watching.")
    eventually(lambda: ear.heard, 3, "the word")
    ear.close()

    assert ear.heard == ["READY=1\nSTATUS=Watching."]


def test_a_supervisor_that_is_gone_stops_nothing(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    Notifier(str(tmp_path / "nobody")).tell("READY=1")

    assert "could not be told READY=1" in caplog.text


def test_without_a_supervisor_nothing_is_done() -> None:
    loops = Loops()
    told = supervised_from({}, 10.0, loops.counts(), [loops.nudge])

    told.start()
    told.opened()
    time.sleep(0.1)
    told.stop()

    assert loops.writer.count == 0


@pytest.mark.component
def test_the_program_tells_that_it_is_ready_goes_round_and_ends(ear: Ear, tmp_path: Path) -> None:
    environment = {"NOTIFY_SOCKET": str(tmp_path / "notify"), "WATCHDOG_USEC": "120000000"}

    with Running(tmp_path / "data", environment=environment) as running:
        eventually(lambda: ear.count("READY=1"), 10, "readiness")
        eventually(lambda: ear.count("WATCHDOG=1"), 60, "feeding")
        fed = ear.count("WATCHDOG=1")
        running.stop()

    eventually(lambda: ear.count("STOPPING=1"), 3, "the word of the end")
    assert fed >= 1
    assert ear.heard[-1] == "STOPPING=1"
    assert ear.count("READY=1") == 1
