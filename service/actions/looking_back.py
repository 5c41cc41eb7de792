"""What is counted of a batch's minutes against its band, and its extreme hours. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime


@dataclass(slots=True)
class Counted:
    """Seconds watched in stages with a band, seconds inside it, degree-hours above and below."""

    watched_s: float = 0.0
    inside_s: float = 0.0
    warm: float = 0.0
    cold: float = 0.0

    @property
    def share(self) -> float | None:
        """Share of the watched time inside; None where nothing was watched."""
        return round(self.inside_s / self.watched_s, 4) if self.watched_s else None

    def add(self, other: "Counted") -> None:
        """Add what was counted elsewhere."""
        self.watched_s += other.watched_s
        self.inside_s += other.inside_s
        self.warm += other.warm
        self.cold += other.cold


@dataclass(frozen=True, slots=True)
class Hour:
    """The mean of an hour that begins at a time."""

    at: datetime
    temp_c: float


def extremes(hours: Iterable[Hour], from_at: datetime, to_at: datetime) -> tuple[Hour | None, Hour | None]:
    """The warmest and the coldest of the hours that begin between two times."""
    within = [hour for hour in hours if from_at <= hour.at < to_at]
    return max(within, key=lambda h: h.temp_c, default=None), min(
        within, key=lambda h: h.temp_c, default=None
    )
