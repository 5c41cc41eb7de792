"""The one thread that writes. Everybody else hands it work and waits for the commit."""

import queue
import threading
from collections.abc import Callable
from concurrent.futures import Future
from concurrent.futures import TimeoutError as FutureTimeoutError
from dataclasses import dataclass
from typing import Any, TypeVar

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError

from service.errors import GylewatchError, InvalidInputError, Problem, UnavailableError

T = TypeVar("T")


def too_large() -> InvalidInputError:
    """The refusal of a number that no column can hold: SQLite's go to 2^63 - 1."""
    return InvalidInputError(Problem("", "holds a number that is too large", "Give a smaller one."))


@dataclass(frozen=True, slots=True)
class WriterHealth:
    """How the writer is doing: waiting pieces of work, slowest write in seconds, last failure in words."""

    waiting: int
    slowest_s: float
    failures: int
    last_failure: str


class Writer:
    """Runs pieces of work one after another, each in a transaction of its own."""

    def __init__(self, engine: Engine, monotonic: Callable[[], float]) -> None:
        self._engine = engine
        self._monotonic = monotonic
        self._work: queue.SimpleQueue[tuple[Callable[[Connection], Any], Future[Any]] | None] = (
            queue.SimpleQueue()
        )
        self._slowest_s = 0.0
        self._failures = 0
        self._last_failure = ""
        self.rounds = 0
        self.commits = 0
        self._stopped = False
        self._thread = threading.Thread(target=self._serve, name="record-writer", daemon=True)
        self._thread.start()

    def run(self, work: Callable[[Connection], T], wait_s: float | None) -> T:
        """Run `work` in one transaction and return what it returns once that is committed.

        Raises UnavailableError when the database refuses or the writer does not get to it in
        `wait_s` seconds (the work is then taken back if it has not begun).
        """
        if self._stopped:
            raise UnavailableError("The record is closing; nothing was written.")
        done: Future[T] = Future()
        self._work.put((work, done))
        try:
            return done.result(wait_s)
        except FutureTimeoutError:
            if done.cancel():
                raise UnavailableError(
                    "The record is busy; nothing was written. Try again in a moment."
                ) from None
            return done.result()

    def health(self) -> WriterHealth:
        """How the writer is doing now."""
        return WriterHealth(self._work.qsize(), self._slowest_s, self._failures, self._last_failure)

    def stop(self) -> None:
        """Finish what is queued, then end."""
        self._stopped = True
        self._work.put(None)
        self._thread.join(timeout=5)

    def _serve(self) -> None:
        while (item := self._work.get()) is not None:
            work, done = item
            if done.set_running_or_notify_cancel():
                self._do(work, done)
            self.rounds += 1

    def _do(self, work: Callable[[Connection], Any], done: Future[Any]) -> None:
        began = self._monotonic()
        try:
            with self._engine.begin() as connection:
                result = work(connection)
        except DBAPIError as refused:
            self._failures += 1
            self._last_failure = str(refused.orig)
            done.set_exception(
                UnavailableError(f"The record could not be written ({refused.orig}); nothing was changed.")
            )
        except OverflowError:
            done.set_exception(too_large())
        except GylewatchError as refusal:
            done.set_exception(refusal)
        except Exception as mistake:  # noqa: BLE001 - the caller gets it; the writer must live on
            self._failures += 1
            self._last_failure = repr(mistake)
            done.set_exception(mistake)
        else:
            self.commits += 1
            done.set_result(result)
        self._slowest_s = max(self._slowest_s, self._monotonic() - began)
