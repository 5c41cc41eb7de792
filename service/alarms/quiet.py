"""Quiet hours of a channel: by weekday, in the brewer's time zone, across changes of the clock there."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo


@dataclass(frozen=True, slots=True)
class QuietHours:
    """When a channel wants no message but the high ones.

    by_weekday: for each weekday (0 is Monday) on which a quiet time begins, its start and end by the
    local clock; an end not later than its start is on the next day. A time that the clock skips in
    spring counts as the moment of the change; one that comes twice in autumn counts the first time.
    """

    tz: ZoneInfo
    by_weekday: Mapping[int, tuple[time, time]] = field(default_factory=dict)

    def covers(self, at: datetime) -> bool:
        """Whether `at` (aware) lies in a quiet time; its start does, its end does not."""
        return any(start <= at < end for start, end in self._around(at))

    def end_after(self, at: datetime) -> datetime | None:
        """When the quiet that covers `at` ends; `at` itself outside; None when it goes on for over a week."""
        until = at
        for _ in range(9):
            if not self.covers(until):
                return until
            until = max(end for start, end in self._around(until) if start <= until < end)
        return None

    def _around(self, at: datetime) -> list[tuple[datetime, datetime]]:
        today = at.astimezone(self.tz).date()
        days = (today - timedelta(days=1), today)
        return [
            self._on(day, *self.by_weekday[day.weekday()]) for day in days if day.weekday() in self.by_weekday
        ]

    def _on(self, day: date, start: time, end: time) -> tuple[datetime, datetime]:
        last = day if end > start else day + timedelta(days=1)
        return self._instant(day, start), self._instant(last, end)

    def _instant(self, day: date, clock: time) -> datetime:
        local = datetime.combine(day, clock, tzinfo=self.tz)
        at = local.astimezone(UTC)
        if at.astimezone(self.tz).replace(tzinfo=None) == local.replace(tzinfo=None):
            return at
        return self._change_between(local.replace(fold=1).astimezone(UTC), at)

    def _change_between(self, before: datetime, later: datetime) -> datetime:
        """The second at which the zone's offset changes; `before` still has the old one, `later` the new."""
        old = before.astimezone(self.tz).utcoffset()
        while later - before > timedelta(seconds=1):
            middle = (before + (later - before) / 2).replace(microsecond=0)
            if middle.astimezone(self.tz).utcoffset() == old:
                before = middle
            else:
                later = middle
        return later
