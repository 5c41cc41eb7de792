"""What a rehearsal is asked with, and its limits."""

import re
from datetime import datetime
from typing import Annotated, Any

from pydantic import AfterValidator, Field, model_validator

from service.actions.asks import Gravity, Litres
from service.actions.wire import Ask, Instant, Name, Number

RoomC = Annotated[Number, Field(ge=-30, le=60)]
BeerC = Annotated[Number, Field(ge=-5, le=45)]
MOST_TRACE = 24 * 400


def clock_hours(text: str) -> float:
    """The hour of the day of a clock time such as 16:30; ValueError in words for anything else."""
    found = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", text)
    if found is None:
        raise ValueError("must be a time of the day such as 16:00")
    return int(found[1]) + int(found[2]) / 60


def _clock(text: str) -> str:
    clock_hours(text)
    return text


class DailyRoom(Ask):
    """Surroundings with a daily swing: mean_c plus and minus swing_c, warmest at a time of the day."""

    mean_c: RoomC
    swing_c: Annotated[Number, Field(ge=0, le=30)] = 0.0
    warmest_at: Annotated[str, Field(strict=True), AfterValidator(_clock)] = "16:00"


class TracePoint(Ask):
    """Surroundings at a time."""

    at: Instant
    temp_c: RoomC


class TracedRoom(Ask):
    """Surroundings as they were: hourly numbers from the start on, or times with temperatures."""

    trace: Annotated[list[RoomC] | list[TracePoint], Field(min_length=1, max_length=MOST_TRACE)]


class Away(Ask):
    """Days on which nobody is there."""

    from_: Annotated[Instant, Field(alias="from")]
    to: Instant

    @model_validator(mode="after")
    def _ordered(self) -> "Away":
        if self.to <= self.from_:
            raise ValueError("to must lie after from")
        return self


class Rehearse(Ask):
    """A plan to be run against a vessel in a room.

    Without surroundings_c the vessel's own room is taken, as its probe knows it. wanted_at and away ask
    for the days on which to brew.
    """

    plan: Any = None
    plan_id: str | None = None
    vessel_id: Name | None = None
    volume_l: Litres | None = None
    og: Gravity | None = None
    expected_fg: Gravity | None = None
    pitch_c: BeerC | None = None
    surroundings_c: RoomC | DailyRoom | TracedRoom | None = None
    starts_at: Instant | None = None
    wanted_at: Instant | None = None
    away: Annotated[list[Away], Field(max_length=50)] = Field(default_factory=list)


def hourly_trace(room: TracedRoom, starts_at: datetime) -> tuple[float, ...]:
    """A traced room as hourly values from the start on; between points straight lines."""
    plain = [one for one in room.trace if isinstance(one, float | int)]
    points = sorted((one for one in room.trace if isinstance(one, TracePoint)), key=lambda p: p.at)
    if not points:
        return tuple(float(one) for one in plain)
    hours = [(p.at - starts_at).total_seconds() / 3600 for p in points]
    return tuple(
        _between(hours, [p.temp_c for p in points], h) for h in range(min(MOST_TRACE, int(hours[-1])) + 1)
    ) or (points[-1].temp_c,)


def _between(hours: list[float], temps: list[float], hour: float) -> float:
    if hour <= hours[0]:
        return temps[0]
    for k in range(1, len(hours)):
        if hour <= hours[k]:
            wide = hours[k] - hours[k - 1]
            part = 1.0 if wide <= 0 else (hour - hours[k - 1]) / wide
            return temps[k - 1] + part * (temps[k] - temps[k - 1])
    return temps[-1]
