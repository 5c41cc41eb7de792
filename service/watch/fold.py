"""Folding samples into minutes. Pure: raw values in, finished minutes out."""

from dataclasses import dataclass, replace
from datetime import datetime

from service.record.minutes import MinuteRow
from service.record.types import to_ms

MINUTE_MS = 60_000


def minute_of(at: datetime) -> int:
    """The whole minute since 1970 UTC in which a time lies."""
    return to_ms(at) // MINUTE_MS


def milli(value_c: float) -> int:
    """Whole milli-degrees."""
    return round(value_c * 1000)


@dataclass(frozen=True, slots=True)
class OpenMinute:
    """A probe-minute that is still filling."""

    minute: int
    sum_mc: int
    min_mc: int
    max_mc: int
    count: int

    def with_value(self, raw_mc: int) -> "OpenMinute":
        """The same with one value more."""
        return replace(
            self,
            sum_mc=self.sum_mc + raw_mc,
            min_mc=min(self.min_mc, raw_mc),
            max_mc=max(self.max_mc, raw_mc),
            count=self.count + 1,
        )

    def row(self, probe: int) -> MinuteRow:
        """As it is stored; the mean to the nearest milli-degree."""
        mean = round(self.sum_mc / self.count)
        return MinuteRow(probe, self.minute, mean, mean - self.min_mc, self.max_mc - mean, self.count)


def fold(before: OpenMinute | None, minute: int, raw_mc: int) -> tuple[OpenMinute, OpenMinute | None]:
    """Add one value; returns the minute that is filling now, and the one that it finished, if any.

    A value for an earlier minute than the one filling (the clock went back a little) is counted into
    the one filling, so that nothing is lost and no finished minute is opened again.
    """
    if before is None:
        return OpenMinute(minute, raw_mc, raw_mc, raw_mc, 1), None
    if minute <= before.minute:
        return before.with_value(raw_mc), None
    return OpenMinute(minute, raw_mc, raw_mc, raw_mc, 1), before


def resume(row: MinuteRow) -> OpenMinute:
    """A stored minute taken up again after a restart within it."""
    return OpenMinute(
        row.minute, row.mean_mc * row.count, row.mean_mc - row.below_mc, row.mean_mc + row.above_mc, row.count
    )


def fold_all(probe: int, values: list[tuple[int, int]]) -> list[MinuteRow]:
    """Minutes made from (time in ms, raw milli-degrees) pairs, in order of time; for samples kept raw."""
    rows: list[MinuteRow] = []
    filling: OpenMinute | None = None
    for at_ms, raw_mc in sorted(values):
        filling, finished = fold(filling, at_ms // MINUTE_MS, raw_mc)
        if finished is not None:
            rows.append(finished.row(probe))
    if filling is not None:
        rows.append(filling.row(probe))
    return rows
