"""Waiting, but never for ever."""

import threading
import time

import pytest

from service.notify.bounded import within
from service.notify.envelope import UNCLEAR_FOR, SendFailedError


def test_it_gives_what_the_call_gives() -> None:
    assert within(5, "far end", lambda: 42) == 42


def test_it_passes_on_the_calls_own_failure() -> None:
    failure = SendFailedError("no", transient=False)

    def call() -> None:
        raise failure

    with pytest.raises(SendFailedError) as caught:
        within(5, "far end", call)

    assert caught.value is failure


def test_what_nobody_foresaw_becomes_a_failure_without_its_text() -> None:
    def call() -> None:
        raise KeyError("hush-hush")

    with pytest.raises(SendFailedError) as caught:
        within(5, "far end", call)

    assert str(caught.value) == "Sending to far end failed in an unexpected way (KeyError)."
    assert caught.value.transient
    assert caught.value.keep_trying_for == UNCLEAR_FOR


def test_it_leaves_a_call_that_does_not_come_back() -> None:
    let_go = threading.Event()
    began = time.monotonic()

    with pytest.raises(SendFailedError, match=r"far end did not answer within 0\.1 s"):
        within(0.1, "far end", lambda: let_go.wait(10))

    assert time.monotonic() - began < 2
    let_go.set()
