"""How a batch stands to the band of its present stage: whether it was reached, and since when inside."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

REACHED_AFTER = timedelta(seconds=60)
"""A stage that ends when its band is reached wants a minute inside, not one lucky sample."""


@dataclass(frozen=True, slots=True)
class Progress:
    """step: which step of the course this is about. Times are aware UTC."""

    step: int
    inside_since: datetime | None = None
    reached_at: datetime | None = None

    def after(self, inside: bool | None, now: datetime) -> "Progress":
        """With one look more: inside the band, outside, or not known (None: nothing changes)."""
        if inside is None:
            return self
        if not inside:
            return replace(self, inside_since=None)
        since = self.inside_since
        if since is None or since > now:
            since = now
        return replace(self, inside_since=since, reached_at=self.reached_at or now)

    def moved(self, by: timedelta) -> "Progress":
        """After the wall clock was set by so much: the time inside so far stays what it was."""
        return replace(self, inside_since=None if self.inside_since is None else self.inside_since + by)

    def lasted(self, now: datetime) -> bool:
        """Whether it has been inside for a minute."""
        return self.inside_since is not None and now - self.inside_since >= REACHED_AFTER

    def to_json(self) -> dict[str, Any]:
        """As it is remembered. inside_since only runs while samples come, so it is not kept."""
        return {
            "step": self.step,
            "reached_at": None if self.reached_at is None else self.reached_at.isoformat(),
        }


def progress_name(batch_id: str, vessel_id: str, *, first: bool) -> str:
    """Under what name a batch's progress in a vessel is kept: the batch's own in the first of several."""
    return batch_id if first else f"{batch_id}@{vessel_id}"


def progress_from(stored: Mapping[str, Any] | None, step: int) -> Progress:
    """What was remembered of this step, or a fresh start for another one."""
    if stored is None or stored.get("step") != step:
        return Progress(step)
    reached = stored.get("reached_at")
    return Progress(step, None, None if reached is None else datetime.fromisoformat(reached))
