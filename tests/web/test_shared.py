"""Those who ask at once share one computation, and nobody gets an answer from before they asked."""

import threading
import time

import pytest

from web.served.shared import Shared


class Slow:
    """Counts how often it is asked, and answers only when let go."""

    def __init__(self) -> None:
        self.begun = 0
        self.may = threading.Event()
        self.inside = threading.Event()

    def __call__(self) -> int:
        self.begun += 1
        mine = self.begun
        self.inside.set()
        assert self.may.wait(5)
        return mine


def test_many_at_once_share_what_began_after_they_asked() -> None:
    slow = Slow()
    shared = Shared(slow)
    answers: list[int] = []
    first = threading.Thread(target=lambda: answers.append(shared.get()))
    first.start()
    assert slow.inside.wait(5)
    late = [threading.Thread(target=lambda: answers.append(shared.get())) for _ in range(20)]
    for one in late:
        one.start()
    time.sleep(0.1)  # the late ones wait by now; one that does not makes a third computation
    slow.may.set()
    for one in [first, *late]:
        one.join(5)

    assert answers.count(1) == 1
    assert set(answers) <= {1, 2, 3}
    assert slow.begun <= 3


def test_one_after_another_each_gets_its_own() -> None:
    count = iter(range(1, 10))
    shared = Shared(lambda: next(count))

    assert [shared.get(), shared.get(), shared.get()] == [1, 2, 3]


def test_a_failure_reaches_whoever_asked_and_the_next_is_tried_again() -> None:
    answers = iter([ValueError("no"), 7])

    def make() -> int:
        found = next(answers)
        if isinstance(found, Exception):
            raise found
        return found

    shared = Shared(make)

    with pytest.raises(ValueError, match="no"):
        shared.get()
    assert shared.get() == 7
