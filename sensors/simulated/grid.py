"""Rows of numbers on a grid of time: made as far as they are asked for, and kept."""

from array import array
from collections.abc import Callable, Iterable
from datetime import datetime
from threading import Lock


class Grid:
    """Rows `step_s` apart from `starts` on; between two of them each number is a straight line.

    next_row makes the rows one after another. Safe to ask from several threads.
    """

    def __init__(
        self, starts: datetime, step_s: float, width: int, next_row: Callable[[], Iterable[float]]
    ) -> None:
        self._starts = starts
        self._step_s = step_s
        self._width = width
        self._next_row = next_row
        self._rows = array("d")
        self._lock = Lock()

    def at(self, t: datetime) -> list[float]:
        """The row at a time. Raises ValueError for a naive time and for one before the start."""
        if t.tzinfo is None:
            raise ValueError(f"{t.isoformat()} has no time zone: give an aware time")
        steps = (t - self._starts).total_seconds() / self._step_s
        if steps < 0.0:
            raise ValueError(
                f"the simulation starts at {self._starts.isoformat()}; {t.isoformat()} is earlier"
            )
        index = int(steps)
        part = steps - index
        first, middle = index * self._width, (index + 1) * self._width
        end = middle + self._width
        with self._lock:
            while len(self._rows) < end:
                self._rows.extend(self._next_row())
            now, later = self._rows[first:middle], self._rows[middle:end]
        return [a + (b - a) * part for a, b in zip(now, later, strict=True)]
