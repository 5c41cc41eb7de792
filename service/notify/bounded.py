"""Waiting for a far end, but never for ever."""

import queue
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from service.notify.envelope import UNCLEAR_FOR, SendFailedError

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Patience:
    """How long to wait for a far end, in seconds: for each single step, and for the whole of it."""

    step_s: float = 10.0
    whole_s: float = 30.0


def within(limit_s: float, who: str, call: Callable[[], T]) -> T:
    """What `call` returns, waiting at most `limit_s` seconds.

    Looking up a name has no time-out of its own, and a far end that drips a byte now and then never runs
    into one, so the call has its own thread, which is abandoned when it takes too long. Raises
    SendFailedError only: the call's own, or one that says that time was up or that something unforeseen
    happened (by its kind alone, since its text may hold a secret).
    """
    answers: queue.SimpleQueue[tuple[T, None] | tuple[None, SendFailedError]] = queue.SimpleQueue()

    def run() -> None:
        try:
            answers.put((call(), None))
        except SendFailedError as error:
            answers.put((None, error))
        except Exception as error:  # noqa: BLE001 - whatever a library raises becomes one kind of error
            answers.put((None, unforeseen(who, error)))

    threading.Thread(target=run, name=f"send to {who}", daemon=True).start()
    try:
        answer, error = answers.get(timeout=limit_s)
    except queue.Empty:
        raise SendFailedError(f"{who} did not answer within {limit_s:g} s.", transient=True) from None
    if error is not None:
        raise error
    return answer  # type: ignore[return-value]


def unforeseen(who: str, error: Exception) -> SendFailedError:
    """The failure of a call that nobody expected to fail in this way."""
    return SendFailedError(
        f"Sending to {who} failed in an unexpected way ({type(error).__name__}).",
        transient=True,
        keep_trying_for=UNCLEAR_FOR,
    )
