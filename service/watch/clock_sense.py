"""What the watch makes of a clock that may be wrong: whether to date by it, and which time to judge by."""

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol

from service.watch.committing import Committing
from service.watch.house import House

log = logging.getLogger("gylewatch.watch")

PATIENCE_S = 600.0
JUMP = timedelta(seconds=5)
"""Time services slew the clock below this; what is set at once by more is a jump."""


BELIEVED_S = 60.0
BELIEVED_ROUNDS = 3
"""A clock set ahead takes stages on, and lets them ask, only once it has been believed for so long."""


@dataclass(frozen=True, slots=True)
class Settling:
    """By how much the clock was set ahead, until it has been believed for a while. Pure.

    A stage that was taken on cannot go back by itself when the clock does, and a prompt cannot be unsaid.
    believed_since: by the monotonic clock; None: not yet. rounds: how many have passed since then.
    """

    ahead: timedelta = timedelta(0)
    believed_since: float | None = None
    rounds: int = 0

    def after(self, jumped: timedelta | None, believed: bool, mono: float) -> "Settling":
        """With one round more. jumped: by how much the clock was set since the last one."""
        ahead = max(self.ahead + (jumped or timedelta(0)), timedelta(0))
        if not ahead:
            return Settling()
        if jumped is not None or not believed:
            return Settling(ahead)
        since = mono if self.believed_since is None else self.believed_since
        if self.rounds >= BELIEVED_ROUNDS and mono - since >= BELIEVED_S:
            return Settling()
        return Settling(ahead, since, self.rounds + 1)


class Clock(Protocol):
    """The clocks the watch goes by."""

    @property
    def boot_id(self) -> str: ...

    def now(self) -> datetime: ...

    def monotonic(self) -> float: ...

    def since_boot_s(self) -> float: ...

    def doubt(self, newest_row: datetime | None) -> str: ...


class ClockSense:
    """Keeps what is known of the clock from round to round."""

    def __init__(self, clock: Clock, committing: Committing) -> None:
        self._clock = clock
        self._committing = committing
        self._last_look: tuple[datetime, float] | None = None
        self._held: tuple[datetime, float, bool] | None = None
        self._doubted_since: float | None = None
        self._taken_as_it_is: tuple[str, datetime | None] | None = None
        self._settling = Settling()

    def doubt(self, now: datetime) -> str:
        """Why the clock cannot be believed now. After ten minutes of a clock that is only behind the
        record it is taken as it is, and what was counted from the boot is marked doubtful."""
        doubt = self._clock.doubt(self._committing.newest)
        mono = self._clock.monotonic()
        if not doubt:
            self._doubted_since = None
            return ""
        if self._doubted_since is None:
            self._doubted_since = mono
        if mono - self._doubted_since >= PATIENCE_S and not self._clock.doubt(None):
            log.warning("the clock is taken as it is after ten minutes: %s", doubt)
            self._taken_as_it_is = (doubt, self._committing.newest)
            self._committing.newest = now
            self._doubted_since = None
            return ""
        return doubt

    def still_doubtful(self) -> str:
        """Why a clock that was taken as it is still cannot be right, or an empty text."""
        if self._taken_as_it_is is None:
            return ""
        why, newest = self._taken_as_it_is
        if newest is None or self._clock.now() >= newest:
            self._taken_as_it_is = None
            return ""
        return why

    def present(self, now: datetime, doubt: str, house: House) -> datetime:
        """The time to judge by. While the clock shows a time before what was seen already, or before what
        is being watched began, time goes on from there: a wrong clock must not keep the beer from being
        judged."""
        mono = self._clock.monotonic()
        floor = self._floor(bool(doubt), house)
        if floor is None or now >= floor:
            self._held = None
            return now
        if self._held is None or self._held[2] != bool(doubt):
            self._held = (floor, mono, bool(doubt))
        return self._held[0] + timedelta(seconds=mono - self._held[1])

    def _floor(self, doubted: bool, house: House) -> datetime | None:
        """The earliest time that can be: what was seen, while the clock is doubted; else what began last."""
        if doubted:
            seen = [self._committing.newest, self._last_look[0] if self._last_look else None]
            return max((at for at in seen if at is not None), default=None)
        began = [b.course.steps[-1].entered_at for b in house.batches if b.course.steps]
        began += [p.from_at for b in house.batches for p in b.row.places if p.to_at is None]
        began += [a.from_at for a in house.assignments if a.to_at is None]
        return max(began, default=None)

    def jumped(self, present: datetime) -> timedelta | None:
        """By how much the clock was set since the last round, None when it was not: running delays then
        move along."""
        mono = self._clock.monotonic()
        before, self._last_look = self._last_look, (present, mono)
        if before is None:
            return None
        by = present - before[0] - timedelta(seconds=mono - before[1])
        if abs(by) <= JUMP:
            return None
        log.warning("the clock was set by %.0f s", by.total_seconds())
        return by

    def for_stages(self, present: datetime, jumped: timedelta | None, believed: bool) -> datetime:
        """The time by which stages elapse and ask: as if the clock had not been set ahead, for a while."""
        self._settling = self._settling.after(jumped, believed, self._clock.monotonic())
        return present - self._settling.ahead
