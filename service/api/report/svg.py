"""Drawing a curve over time as SVG: plain text, no style but presentation attributes and class names."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from markupsafe import Markup, escape

WIDTH, HEIGHT = 1000, 330
LEFT, RIGHT, TOP, BOTTOM = 52, 24, 26, 34
STEPS = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
TIMES_H = (1 / 6, 0.5, 1, 3, 6, 12, 24, 48, 168, 336, 720)
MOST_TICKS_DOWN, MOST_TICKS_ACROSS = 8, 11


@dataclass(frozen=True, slots=True)
class Curve:
    """A line with the area between its lowest and highest values; None breaks it."""

    name: str
    at: Sequence[datetime]
    mean: Sequence[float | None]
    low: Sequence[float | None] = ()
    high: Sequence[float | None] = ()


@dataclass(frozen=True, slots=True)
class Box:
    """A stretch with a band; a side that is None is open."""

    from_at: datetime
    to_at: datetime
    low: float | None
    high: float | None
    target: float | None


@dataclass(frozen=True, slots=True)
class Dot:
    """One measurement with its interval."""

    at: datetime
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Picture:
    """What is drawn between two times. marks: a line with a word, such as the beginning of a stage.

    digits: after the point beside the scale, 0 for as few as do. least_span: what the scale shows at least.
    """

    title: str
    unit: str
    from_at: datetime
    to_at: datetime
    zone: ZoneInfo
    curves: Sequence[Curve] = ()
    boxes: Sequence[Box] = ()
    dots: Sequence[Dot] = ()
    marks: Sequence[tuple[datetime, str]] = ()
    digits: int = 0
    least_span: float = 2.0


def drawn(picture: Picture) -> Markup:
    """The picture as an SVG element."""
    low, high = _span(picture)
    paper = _Paper(picture, low, high)
    parts = [
        f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{escape(picture.title)}" '
        'xmlns="http://www.w3.org/2000/svg">',
        *_boxes(picture, paper),
        *_grid(picture, paper),
        *_marks(picture, paper),
        *(text for curve in picture.curves for text in _curve(curve, paper)),
        *_dots(picture, paper),
        "</svg>",
    ]
    return Markup("".join(parts))


class _Paper:
    """Where a time and a value come to lie."""

    def __init__(self, picture: Picture, low: float, high: float) -> None:
        self.low, self.high = low, high
        self._from = picture.from_at
        self._seconds = max((picture.to_at - picture.from_at).total_seconds(), 1.0)

    def x(self, at: datetime) -> float:
        share = (at - self._from).total_seconds() / self._seconds
        return round(LEFT + min(max(share, 0.0), 1.0) * (WIDTH - LEFT - RIGHT), 1)

    def y(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return round(HEIGHT - BOTTOM - min(max(share, 0.0), 1.0) * (HEIGHT - TOP - BOTTOM), 1)


def _span(picture: Picture) -> tuple[float, float]:
    values = [
        v for c in picture.curves for part in (c.mean, c.low, c.high) for v in part if v is not None
    ] + [v for dot in picture.dots for v in (dot.low, dot.high)]
    bands = [v for box in picture.boxes for v in (box.low, box.high) if v is not None]
    low, high = min(values + bands, default=0.0), max(values + bands, default=1.0)
    spare = max(picture.least_span - (high - low), 0.08 * (high - low)) / 2
    return low - spare, high + spare


def ticks_down(low: float, high: float) -> list[float]:
    """Round values between two, so few that their words do not touch."""
    step = next((s for s in STEPS if (high - low) / s <= MOST_TICKS_DOWN), 50.0)
    return [round(n * step, 6) for n in range(math.ceil(low / step), math.floor(high / step) + 1)]


def ticks_across(from_at: datetime, to_at: datetime, zone: ZoneInfo) -> list[datetime]:
    """Round local times between two: hours of the day, or midnights."""
    hours = (to_at - from_at) / timedelta(hours=1)
    step_h = next((t for t in TIMES_H if hours / t <= MOST_TICKS_ACROSS), TIMES_H[-1])
    local = from_at.astimezone(zone)
    midnight = local.replace(hour=0, minute=0, second=0, microsecond=0, tzinfo=None)
    found: list[datetime] = []
    n = 0
    while True:
        # counted on the wall, so that midnight stays midnight when summer time changes
        at = (midnight + timedelta(hours=n * step_h)).replace(tzinfo=zone)
        if at > to_at:
            return found
        if at >= from_at:
            found.append(at)
        n += 1


def _grid(picture: Picture, paper: _Paper) -> Iterator[str]:
    ticks = ticks_down(paper.low, paper.high)
    digits = picture.digits or (0 if all(value == round(value) for value in ticks) else 1)
    for value in ticks:
        y = paper.y(value)
        yield f'<line class="grid" x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y}" y2="{y}"/>'
        yield f'<text x="{LEFT - 6}" y="{y + 4}" text-anchor="end">{value:.{digits}f}</text>'
    yield f'<text x="6" y="14">{escape(picture.unit)}</text>'
    times = ticks_across(picture.from_at, picture.to_at, picture.zone)
    by_day = len(times) < 2 or times[1] - times[0] >= timedelta(hours=23)
    for at in times:
        x = paper.x(at)
        words = f"{at.day} {at:%b}" if by_day or (at.hour, at.minute) == (0, 0) else f"{at:%H:%M}"
        yield f'<line class="grid" x1="{x}" x2="{x}" y1="{TOP}" y2="{HEIGHT - BOTTOM}"/>'
        yield f'<text x="{x}" y="{HEIGHT - BOTTOM + 18}" text-anchor="middle">{words}</text>'


def _boxes(picture: Picture, paper: _Paper) -> Iterator[str]:
    for box in picture.boxes:
        x, width = paper.x(box.from_at), paper.x(box.to_at) - paper.x(box.from_at)
        if width <= 0:
            continue
        top = paper.y(paper.high if box.high is None else box.high)
        bottom = paper.y(paper.low if box.low is None else box.low)
        if (box.low, box.high) != (None, None):
            yield f'<rect class="band" x="{x}" y="{top}" width="{width:.1f}" height="{bottom - top:.1f}"/>'
        if box.target is not None:
            y = paper.y(box.target)
            yield f'<line class="target" x1="{x}" x2="{x + width:.1f}" y1="{y}" y2="{y}"/>'


def _marks(picture: Picture, paper: _Paper) -> Iterator[str]:
    free_from = 0.0
    for at, words in picture.marks:
        if not picture.from_at <= at <= picture.to_at:
            continue
        x = paper.x(at)
        yield f'<line class="mark" x1="{x}" x2="{x}" y1="{TOP - 8}" y2="{HEIGHT - BOTTOM}"/>'
        if x >= free_from:
            yield f'<text x="{x + 4}" y="{TOP - 12}">{escape(words)}</text>'
            free_from = x + 10 + 7 * len(words)


def _runs(*rows: Sequence[float | None]) -> Iterator[range]:
    """Stretches of indexes in which no row has a gap."""
    begins = None
    length = min(len(row) for row in rows)
    for n in range(length + 1):
        there = n < length and all(row[n] is not None for row in rows)
        if there and begins is None:
            begins = n
        elif not there and begins is not None:
            yield range(begins, n)
            begins = None


def _curve(curve: Curve, paper: _Paper) -> Iterator[str]:
    name = escape(curve.name)
    if curve.low and curve.high:
        for run in _runs(curve.low, curve.high):
            there = [f"{paper.x(curve.at[n])},{paper.y(curve.high[n] or 0.0)}" for n in run]
            back = [f"{paper.x(curve.at[n])},{paper.y(curve.low[n] or 0.0)}" for n in reversed(run)]
            yield f'<polygon class="spread {name}" points="{" ".join(there + back)}"/>'
    for run in _runs(curve.mean):
        points = [f"{paper.x(curve.at[n])},{paper.y(curve.mean[n] or 0.0)}" for n in run]
        if len(points) == 1:
            x, y = points[0].split(",")
            yield f'<circle class="dot {name}" cx="{x}" cy="{y}" r="1.5"/>'
        else:
            yield f'<polyline class="line {name}" points="{" ".join(points)}"/>'


def _dots(picture: Picture, paper: _Paper) -> Iterator[str]:
    for dot in picture.dots:
        x = paper.x(dot.at)
        yield f'<line class="interval" x1="{x}" x2="{x}" y1="{paper.y(dot.low)}" y2="{paper.y(dot.high)}"/>'
        yield f'<circle class="reading" cx="{x}" cy="{paper.y(dot.value)}" r="4"/>'
