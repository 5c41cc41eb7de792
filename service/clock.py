"""The machine's clocks, and the rule that says when wall time can be believed.

A Pi has no battery-backed clock: it may start in the past and be set right minutes later. Durations
use the monotonic clock; wall time is UTC and aware.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

SYNC_ACTIVE = Path("/run/systemd/timesync")
SYNC_DONE = Path("/run/systemd/timesync/synchronized")
BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
PATIENCE_S = 600.0


@dataclass(frozen=True, slots=True)
class ClockFacts:
    """What can be told about the clock at one moment.

    wall: what it shows. released: the program's own release. newest_row: the newest committed time.
    sync_active, synchronised: what the time-sync service says. boot_age_s: seconds since boot.
    """

    wall: datetime
    released: datetime
    newest_row: datetime | None
    sync_active: bool
    synchronised: bool
    boot_age_s: float


def clock_doubt(facts: ClockFacts) -> str:
    """Why the clock cannot be believed, in words, or an empty text when it can."""
    if facts.wall < facts.released:
        return f"the clock shows {facts.wall:%Y-%m-%d}, before this program was released"
    if facts.newest_row is not None and facts.wall < facts.newest_row:
        return f"the clock shows {facts.wall:%Y-%m-%d %H:%M} UTC, before the newest entry of the record"
    if facts.sync_active and not facts.synchronised and facts.boot_age_s < PATIENCE_S:
        return "the clock has not been set since this machine started"
    return ""


class SystemClock:
    """The machine's clocks behind one door; tests pass in another."""

    def __init__(self, released: datetime, always_trusted: bool) -> None:
        self._released = released
        self._always_trusted = always_trusted
        self.boot_id = BOOT_ID.read_text().strip() if BOOT_ID.is_file() else "unknown"

    def now(self) -> datetime:
        """Wall time, aware UTC."""
        return datetime.now(UTC)

    def monotonic(self) -> float:
        """Seconds that only go forward; for durations."""
        return time.monotonic()

    def since_boot_s(self) -> float:
        """Seconds since this machine started, sleep included."""
        return time.clock_gettime(time.CLOCK_BOOTTIME)

    def doubt(self, newest_row: datetime | None) -> str:
        """Why wall time cannot be believed now, or an empty text."""
        if self._always_trusted:
            return ""
        return clock_doubt(
            ClockFacts(
                wall=self.now(),
                released=self._released,
                newest_row=newest_row,
                sync_active=SYNC_ACTIVE.is_dir(),
                synchronised=SYNC_DONE.exists(),
                boot_age_s=self.since_boot_s(),
            )
        )


Now = Callable[[], datetime]
