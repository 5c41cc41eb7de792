"""One computation for all who ask at the same time: when an alarm comes, every open page asks at once."""

import threading
from collections.abc import Callable
from typing import Generic, TypeVar

T = TypeVar("T")


class _Round(Generic[T]):
    """One computation, and its answer once it is there."""

    def __init__(self) -> None:
        self.answers: list[T] = []


class Shared(Generic[T]):
    """Nobody gets an answer whose making began before they asked. Safe to call from any thread."""

    def __init__(self, make: Callable[[], T]) -> None:
        self._make = make
        self._coming: _Round[T] | None = None
        self._lock = threading.Lock()
        self._making = threading.Lock()

    def get(self) -> T:
        """The answer of the next computation, shared with everybody who asks before it begins.

        Where it fails, it fails for one of them, and the next one tries again.
        """
        with self._lock:
            if self._coming is None:
                self._coming = _Round()
            mine = self._coming
        with self._making:
            if not mine.answers:
                with self._lock:
                    if self._coming is mine:
                        self._coming = None
                mine.answers.append(self._make())
        return mine.answers[0]
