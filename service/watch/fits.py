"""Fits: the heavy computations, each in a process of its own that ends, and the part that asks for them.

numpy lives in the worker only, so that the program that runs for weeks stays small. One worker at a time,
nicer than everything else, and killed when it takes too long.
"""

import contextlib
import json
import logging
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Protocol

from service.errors import GylewatchError, UnavailableError

log = logging.getLogger("gylewatch.fits")

COMMAND = (sys.executable, "-P", "-m", "service.thermal.worker")
LIMIT_S = 60.0
NICE = 10

FIRST_AFTER_S = 60.0
EVERY_S = 3600.0
GLANCE_EVERY_S = 180.0
CHECK_EVERY_S = 15.0


class WorkerFailedError(UnavailableError):
    """The worker broke, was given something it cannot read, or took too long."""


class Worker:
    """Asks one job at a time of a child process. Safe to call from any thread."""

    def __init__(self, command: Sequence[str] = COMMAND, limit_s: float = LIMIT_S) -> None:
        self._command = tuple(command)
        self._limit_s = limit_s
        self._one = threading.Lock()
        self._child: subprocess.Popen[str] | None = None
        self._closed = False

    def ask(self, job: Mapping[str, Any]) -> dict[str, Any]:
        """The worker's answer. WorkerFailedError: it broke or took too long. UnavailableError: it is busy."""
        if not self._one.acquire(timeout=self._limit_s):
            raise UnavailableError("Another computation is still running. Try again in a minute.")
        try:
            return self._answer(json.dumps(job))
        finally:
            self._one.release()

    def close(self) -> None:
        """End a worker that runs, and start no other."""
        self._closed = True
        child = self._child
        if child is not None:
            child.kill()

    def _answer(self, job: str) -> dict[str, Any]:
        if self._closed:
            raise UnavailableError("The program is ending.")
        with subprocess.Popen(
            self._command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        ) as child:
            self._child = child
            try:
                _make_nice(child.pid)
                said, trouble = child.communicate(job, timeout=self._limit_s)
            except subprocess.TimeoutExpired:
                raise WorkerFailedError(
                    f"The computation took longer than {self._limit_s:g} s and was ended."
                ) from None
            finally:
                self._child = None
                child.kill()  # nothing happens when it has ended
        try:
            answer = json.loads(said)
        except ValueError:
            last = trouble.strip().splitlines()[-1:] or [f"it ended with {child.returncode}"]
            raise WorkerFailedError(f"The computation failed: {last[0]}.") from None
        if not answer.get("ok"):
            wrong = "; ".join(f"{e.get('field')} {e.get('problem')}" for e in answer.get("errors", ()))
            raise WorkerFailedError(f"The computation could not read what it was given: {wrong}.")
        return dict(answer)


def _make_nice(pid: int) -> None:
    with contextlib.suppress(OSError):  # it may have ended already
        os.setpriority(os.PRIO_PROCESS, pid, NICE)


class Looker(Protocol):
    """What looks at batches: thoroughly with a fit, or at a glance without one."""

    def wanted(self) -> Mapping[str, object]:
        """The batches to look at; another value under an id means that something was told of it."""
        ...

    def look(self, batch_id: str) -> None:
        """Estimate a batch, keep the answer, and tell the watch."""
        ...

    def glance(self) -> None:
        """Forecast, and look for probes that came off; no fit."""
        ...


class Fits:
    """The part that has every batch looked at: hourly, soon after the start, and when something was told."""

    def __init__(
        self,
        looker: Looker,
        worker: Worker,
        monotonic: Callable[[], float],
        first_after_s: float = FIRST_AFTER_S,
        check_every_s: float = CHECK_EVERY_S,
    ) -> None:
        self._looker = looker
        self._worker = worker
        self._monotonic = monotonic
        self._first_after_s = first_after_s
        self._check_every_s = check_every_s
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._go_on, name="fits", daemon=True)
        self._looked: dict[str, tuple[float, object]] = {}
        self._glanced = float("-inf")

    def start(self) -> None:
        """Begin; the first fit comes when the start is over."""
        self._thread.start()

    def stop(self) -> None:
        """End, and end a worker that runs."""
        self._ending.set()
        self._worker.close()
        if self._thread.is_alive():
            self._thread.join(timeout=2)

    def _go_on(self) -> None:
        self._ending.wait(self._first_after_s)
        while not self._ending.is_set():
            self.turn()
            self._ending.wait(self._check_every_s)

    def turn(self) -> None:
        """Do what is due now."""
        now = self._monotonic()
        try:
            wanted = self._looker.wanted()
            for batch_id, told in wanted.items():
                if self._ending.is_set():
                    return
                at, before = self._looked.get(batch_id, (float("-inf"), None))
                if now - at >= EVERY_S or told != before:
                    self._looked[batch_id] = (now, told)
                    self._glanced = float("-inf")
                    self._look(batch_id)
            self._looked = {b: seen for b, seen in self._looked.items() if b in wanted}
            if now - self._glanced >= GLANCE_EVERY_S:
                self._glanced = now
                self._looker.glance()
        except GylewatchError as refused:
            log.warning("looking ahead: %s", refused)
        except Exception:
            log.exception("looking ahead failed")

    def _look(self, batch_id: str) -> None:
        try:
            self._looker.look(batch_id)
        except GylewatchError as refused:
            log.warning("no estimate of %s: %s", batch_id, refused)
