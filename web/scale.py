"""Where things lie on a strip: temperature across in percent of its width, time down. Pure.

The wake (the last hours) and the way ahead are drawn in a box of 1000 by 1000 that the page stretches;
everything else is in percent, so that lettering is never stretched with it.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from web.answer import is_read
from web.views import AheadPoint, Freshness, TrackPoint, VesselView
from web.words import Taste, number

Place = Callable[[datetime], float]
"""The place of a time in the box."""

BOX = 1000
WAKE = timedelta(hours=12)
AHEAD = timedelta(hours=12)
TIME_STEP_H = 3
FARTHEST_C = 6.0
"""What lies farther from the band than this does not widen the scale; it is shown at the edge instead."""
NARROWEST_C = 4.0


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark on the scale at x percent; label is empty for a small one."""

    x: float
    label: str


@dataclass(frozen=True, slots=True)
class TimeLine:
    """A whole hour at y percent, with its words."""

    y: float
    label: str


@dataclass(frozen=True, slots=True)
class Stretch:
    """From start, length long, in percent."""

    start: float
    length: float


@dataclass(frozen=True, slots=True)
class Course:
    """One half of a strip: lines and areas as SVG points in the box, gaps and hours in percent."""

    lines: tuple[str, ...]
    fairways: tuple[str, ...]
    spread: str
    gaps: tuple[Stretch, ...]
    times: tuple[TimeLine, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip's drawing. low_c, high_c: the scale's ends. beyond: -1 or 1 when the mark is off the scale."""

    low_c: float
    high_c: float
    ticks: tuple[Tick, ...]
    band: Stretch | None
    band_low: float | None
    band_high: float | None
    target: float | None
    mark: float | None
    beyond: int
    wake: Course
    ahead: Course | None

    def x(self, temp_c: float) -> float:
        """The place of a temperature in percent, unbounded."""
        return _percent(temp_c, self.low_c, self.high_c)


def strip(vessel: VesselView, taste: Taste, now: datetime) -> Strip | None:
    """The drawing of a vessel, or None when there is nothing to draw: no sample, no trail and no band."""
    ends = scale_ends(vessel, taste)
    if ends is None:
        return None
    low, high = ends
    band = vessel.band
    low_x = _bounded(band.low_c, low, high) if band else None
    high_x = _bounded(band.high_c, low, high) if band else None
    stretch = None
    if low_x is not None or high_x is not None:
        start, end = low_x or 0.0, 100.0 if high_x is None else high_x
        stretch = Stretch(start, round(end - start, 2))
    mark, beyond = None, 0
    if is_read(vessel) and vessel.temp_c is not None:
        at = _percent(vessel.temp_c, low, high)
        mark = min(100.0, max(0.0, at))
        beyond = (vessel.temp_c > high) - (vessel.temp_c < low)
    return Strip(
        low_c=low,
        high_c=high,
        ticks=ticks(low, high, taste),
        band=stretch,
        band_low=low_x if band and band.low_c is not None else None,
        band_high=high_x if band and band.high_c is not None else None,
        target=_bounded(band.target_c, low, high) if band else None,
        mark=mark,
        beyond=beyond,
        wake=_wake(vessel, low, high, taste, now),
        ahead=_ahead(vessel.ahead, low, high, taste, now) if vessel.ahead else None,
    )


def scale_ends(vessel: VesselView, taste: Taste) -> tuple[float, float] | None:
    """The scale's ends in C: whole degrees of the brewer's unit around band, mark and trail."""
    band = vessel.band
    fixed = [t for t in (band.low_c, band.high_c, band.target_c) if t is not None] if band else []
    moving = [point.temp_c for point in vessel.trail if point.temp_c is not None]
    moving += [point.temp_c for point in vessel.ahead]
    if vessel.temp_c is not None:
        moving.append(vessel.temp_c)
    around = fixed or moving[-1:]
    if not around:
        return None
    floor, ceiling = min(around) - FARTHEST_C, max(around) + FARTHEST_C
    within = around + [min(ceiling, max(floor, temp)) for temp in moving]
    low, high = min(within) - 0.5, max(within) + 0.5
    lacking = max(0.0, NARROWEST_C - (high - low)) / 2
    low_unit, high_unit = math.floor(taste.degrees(low - lacking)), math.ceil(taste.degrees(high + lacking))
    return _celsius(low_unit, taste), _celsius(high_unit, taste)


def ticks(low_c: float, high_c: float, taste: Taste) -> tuple[Tick, ...]:
    """Marks at round figures of the brewer's unit, at most nine of them lettered."""
    low, high = taste.degrees(low_c), taste.degrees(high_c)
    major = next(step for step in (1, 2, 5, 10, 20, 50, 100, 1000) if (high - low) / step <= 8.5)
    minor = {1: 0.5, 2: 1.0, 5: 1.0}.get(major, major / 2)
    marks = []
    for n in range(math.ceil(low / minor - 1e-9), math.floor(high / minor + 1e-9) + 1):
        value = n * minor
        lettered = abs(value / major - round(value / major)) < 1e-9
        marks.append(Tick(_percent(value, low, high), number(value, 0) if lettered else ""))
    return tuple(marks)


def _wake(vessel: VesselView, low: float, high: float, taste: Taste, now: datetime) -> Course:
    since = now - WAKE
    points = [point for point in vessel.trail if since <= point.at <= now]
    if points and is_read(vessel) and points[-1].temp_c is not None:
        points.append(replace(points[-1], at=now, temp_c=vessel.temp_c))

    def down(at: datetime) -> float:
        return (now - at) / WAKE * BOX

    gaps = [
        Stretch(_tenth(down(after.at)), _tenth(down(before.at) - down(after.at)))
        for before, after in _silences(points)
    ]
    measured = [point for point in points if point.temp_c is not None]
    last = vessel.at if vessel.at is not None else (measured[-1].at if measured else None)
    if vessel.freshness is Freshness.SILENT and last is not None:
        gaps.append(Stretch(0.0, _tenth(min(BOX, down(last)))))
    return Course(
        lines=tuple(_runs(points, down, low, high)),
        fairways=tuple(_fairways([(p.at, p.low_c, p.high_c) for p in points], down, low, high)),
        spread="",
        gaps=tuple(gaps),
        times=_hours(since, now, down, taste),
    )


def _ahead(
    points: Sequence[AheadPoint], low: float, high: float, taste: Taste, now: datetime
) -> Course | None:
    until = now + AHEAD
    shown = [point for point in points if now - AHEAD / 12 <= point.at <= until + AHEAD / 12]

    def up(at: datetime) -> float:
        return BOX - (at - now) / AHEAD * BOX

    line = " ".join(_point(point.temp_c, up(point.at), low, high) for point in shown)
    edge = [_point(point.high90_c, up(point.at), low, high) for point in shown]
    edge += [_point(point.low90_c, up(point.at), low, high) for point in reversed(shown)]
    return Course(
        lines=(line,),
        fairways=tuple(_fairways([(p.at, p.low_c, p.high_c) for p in shown], up, low, high)),
        spread=" ".join(edge),
        gaps=(),
        times=_hours(now, until, up, taste),
    )


def _silences(points: Sequence[TrackPoint]) -> Iterable[tuple[TrackPoint, TrackPoint]]:
    """The measured points on either side of each stretch without a measurement."""
    before: TrackPoint | None = None
    open_gap = False
    for point in points:
        if point.temp_c is None:
            open_gap = True
        else:
            if open_gap and before is not None:
                yield before, point
            before, open_gap = point, False


def _runs(points: Sequence[TrackPoint], down: Place, low: float, high: float) -> Iterable[str]:
    run: list[str] = []
    for point in [*points, None]:
        if point is not None and point.temp_c is not None:
            run.append(_point(point.temp_c, down(point.at), low, high))
            continue
        if run:
            yield " ".join(run if len(run) > 1 else run * 2)
        run = []


def _fairways(
    bands: Sequence[tuple[datetime, float | None, float | None]], place: Place, low: float, high: float
) -> Iterable[str]:
    """The band over time as areas; a change from one point to the next is a step, as plans have them."""
    run: list[tuple[float, float, float]] = []
    for (at, band_low, band_high), (until, _, _) in pairwise(bands):
        if band_low is None and band_high is None:
            if run:
                yield _area(run)
            run = []
            continue
        left = BOX * (_bounded(band_low, low, high) or 0.0) / 100
        right_percent = _bounded(band_high, low, high)
        right = BOX * (100.0 if right_percent is None else right_percent) / 100
        if run and run[-1][:2] == (left, right):
            run[-1] = (left, right, place(until))
        else:
            run += [(left, right, place(at)), (left, right, place(until))]
    if run:
        yield _area(run)


def _area(run: list[tuple[float, float, float]]) -> str:
    edge = [f"{right:.0f},{y:.0f}" for _, right, y in run] + [
        f"{left:.0f},{y:.0f}" for left, _, y in reversed(run)
    ]
    return " ".join(edge)


def _hours(since: datetime, until: datetime, place: Place, taste: Taste) -> tuple[TimeLine, ...]:
    first = taste.local(since).replace(minute=0, second=0, microsecond=0).astimezone(UTC)
    lines = []
    for n in range(1, int((until - since) / timedelta(hours=1)) + 1):
        at = first + timedelta(hours=n)
        if taste.local(at).hour % TIME_STEP_H == 0 and since <= at <= until:
            lines.append(TimeLine(_tenth(place(at)), taste.hour(at)))
    return tuple(lines)


def _point(temp_c: float, y: float, low: float, high: float) -> str:
    return f"{_percent(temp_c, low, high) * BOX / 100:.0f},{y:.0f}"


def _percent(value: float, low: float, high: float) -> float:
    return round((value - low) / (high - low) * 100, 2)


def _bounded(value: float | None, low: float, high: float) -> float | None:
    return None if value is None else min(100.0, max(0.0, _percent(value, low, high)))


def _tenth(box: float) -> float:
    return round(box * 100 / BOX, 2)


def _celsius(value: float, taste: Taste) -> float:
    return (value - 32) * 5 / 9 if taste.units == "F" else value
