"""Calls into the kernel that may never come back, made by threads that can be left behind."""

import queue
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Future, wait
from typing import TypeVar

T = TypeVar("T")

_Errands = queue.SimpleQueue[Callable[[], None] | None]


class NoAnswerError(Exception):
    """The call did not come back in time, an earlier one is still out, or too many are."""


class Courier:
    """Runs one call after the other in a daemon thread of its own, and waits only so long for each.

    A thread whose call does not come back is left behind and replaced. While it is out, the same key is
    not tried again before `try_again_s`, and no more than `most_out` threads are ever left behind:
    what is stuck in the kernel cannot be ended, only counted. When one comes back, its answer is thrown
    away (it is old) and its key is tried again.
    """

    def __init__(
        self, name: str, monotonic: Callable[[], float], *, most_out: int = 16, try_again_s: float = 600.0
    ) -> None:
        self._name = name
        self._monotonic = monotonic
        self._most_out = most_out
        self._try_again_s = try_again_s
        self._out: list[tuple[str, float, Callable[[], bool]]] = []
        self._errands: _Errands | None = None

    @property
    def out(self) -> int:
        """How many calls are still stuck."""
        self._out = [entry for entry in self._out if not entry[2]()]
        return len(self._out)

    def run(self, key: str, call: Callable[[], T], timeout_s: float) -> T:
        """What call returned or raised. For one caller at a time.

        Raises NoAnswerError after timeout_s seconds, or at once when the key is known to be stuck.
        """
        if self.out >= self._most_out:
            raise NoAnswerError(f"{self.out} earlier reads have not come back")
        newest = max((since for name, since, _ in self._out if name == key), default=None)
        if newest is not None and self._monotonic() - newest < self._try_again_s:
            raise NoAnswerError("an earlier read has not come back")
        answer: Future[T] = Future()
        self._hired().put(lambda: _fulfil(answer, call))
        wait([answer], timeout_s)
        if not answer.done():
            self._out.append((key, self._monotonic(), answer.done))
            self.close()
            raise NoAnswerError(f"nothing came back within {timeout_s:g} s")
        return answer.result()

    def _hired(self) -> _Errands:
        if self._errands is None:
            self._errands = queue.SimpleQueue()
            threading.Thread(target=_work, args=(self._errands,), name=self._name, daemon=True).start()
        return self._errands

    def close(self) -> None:
        """Let the thread end after what it does now; nothing is waited for."""
        if self._errands is not None:
            self._errands.put(None)
            self._errands = None


def side_by_side(calls: Sequence[Callable[[], T]]) -> list[T]:
    """The results of calls that run at the same time and are each known to come back."""
    answers: list[Future[T]] = []
    for call in calls:
        answer: Future[T] = Future()
        threading.Thread(target=_fulfil, args=(answer, call), daemon=True).start()
        answers.append(answer)
    return [answer.result() for answer in answers]


def _work(errands: _Errands) -> None:
    while (errand := errands.get()) is not None:
        errand()


def _fulfil(answer: Future[T], call: Callable[[], T]) -> None:
    try:
        result = call()
    except Exception as error:  # noqa: BLE001 - it is raised again where the answer is awaited
        answer.set_exception(error)
    else:
        answer.set_result(result)
