import threading
import time

import pytest

from sensors.patience import Courier, NoAnswerError, side_by_side


class Clock:
    """A monotonic clock that a test moves."""

    def __init__(self) -> None:
        self.now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def gate() -> threading.Event:
    return threading.Event()


def test_it_brings_back_what_the_call_returned() -> None:
    courier = Courier("test", time.monotonic)

    assert courier.run("a", lambda: 42, 1.0) == 42


def test_it_brings_back_what_the_call_raised() -> None:
    def fail() -> None:
        raise OSError(5, "input/output error")

    with pytest.raises(OSError, match="input/output error"):
        Courier("test", time.monotonic).run("a", fail, 1.0)


def test_an_error_that_looks_like_a_timeout_is_not_taken_for_silence() -> None:
    def fail() -> None:
        raise TimeoutError("the device timed out")

    courier = Courier("test", time.monotonic)

    with pytest.raises(TimeoutError):
        courier.run("a", fail, 1.0)
    assert courier.out == 0


def test_it_leaves_a_call_behind_that_does_not_come_back(gate: threading.Event) -> None:
    courier = Courier("test", time.monotonic)

    with pytest.raises(NoAnswerError, match=r"within 0\.01 s"):
        courier.run("a", gate.wait, 0.01)

    assert courier.out == 1
    assert courier.run("b", lambda: "others go on", 1.0) == "others go on"
    gate.set()


def test_it_does_not_try_what_is_still_out(gate: threading.Event) -> None:
    courier = Courier("test", time.monotonic)
    tried = []
    with pytest.raises(NoAnswerError):
        courier.run("a", gate.wait, 0.01)

    with pytest.raises(NoAnswerError, match="earlier read has not come back"):
        courier.run("a", lambda: tried.append(1), 1.0)

    assert tried == []
    gate.set()


def test_it_tries_again_when_the_call_came_back_and_drops_the_old_answer(gate: threading.Event) -> None:
    courier = Courier("test", time.monotonic)

    def late() -> str:
        gate.wait()
        return "old"

    with pytest.raises(NoAnswerError):
        courier.run("a", late, 0.01)
    gate.set()
    for _ in range(200):
        if courier.out == 0:
            break
        time.sleep(0.01)

    assert courier.run("a", lambda: "new", 1.0) == "new"


def test_it_tries_again_after_a_while_even_if_the_first_call_never_comes_back(gate: threading.Event) -> None:
    clock = Clock()
    courier = Courier("test", clock, try_again_s=600)
    with pytest.raises(NoAnswerError):
        courier.run("a", gate.wait, 0.01)

    clock.now_s += 599
    with pytest.raises(NoAnswerError):
        courier.run("a", lambda: "too soon", 1.0)
    clock.now_s += 1

    assert courier.run("a", lambda: "again", 1.0) == "again"
    gate.set()


def test_stuck_threads_do_not_multiply_without_limit(gate: threading.Event) -> None:
    courier = Courier("test-limit", time.monotonic, most_out=3)

    for number in range(10):
        with pytest.raises(NoAnswerError):
            courier.run(str(number), gate.wait, 0.01)

    assert courier.out == 3
    assert sum(thread.name == "test-limit" for thread in threading.enumerate()) <= 3
    gate.set()


def test_one_thread_serves_as_long_as_calls_come_back() -> None:
    courier = Courier("test", time.monotonic)

    assert len({courier.run("a", threading.get_ident, 1.0) for _ in range(5)}) == 1
    courier.close()


def test_it_may_be_closed_before_it_was_used_and_more_than_once() -> None:
    courier = Courier("test", time.monotonic)

    courier.close()
    courier.close()

    assert courier.run("a", lambda: 1, 1.0) == 1


def test_its_thread_ends_when_it_is_closed() -> None:
    courier = Courier("test-closing", time.monotonic)
    courier.run("a", lambda: 1, 1.0)
    (thread,) = (thread for thread in threading.enumerate() if thread.name == "test-closing")

    courier.close()
    thread.join(2)

    assert not thread.is_alive()


def test_calls_side_by_side_wait_for_each_other() -> None:
    meeting = threading.Barrier(2, timeout=5)

    assert len(side_by_side([meeting.wait, meeting.wait])) == 2


def test_an_error_of_one_of_them_comes_out() -> None:
    def fail() -> int:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        side_by_side([lambda: 1, fail])
