"""The curve of a batch: its probes' minutes in buckets, the band, what strayed, what is missing."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from sqlalchemy import Connection

from service.actions.answers import BandAnswer, BatchStray, GapAnswer, SeriesAnswer, SeriesProbe
from service.actions.desk import Desk
from service.actions.probe_marks import probe_marks
from service.actions.stretches import Stretch, calibrated_from, line_of, stretches
from service.actions.wire import as_text
from service.errors import InvalidInputError, Problem
from service.plans.course import BandSpan, bands_between
from service.record.batches import batch_by_id
from service.record.facts import CalibrationLine
from service.record.gaps import gaps_between
from service.record.minutes import Bucket, buckets, merged
from service.record.types import EPOCH
from service.record.vessels import probes_ever
from service.watch.fold import minute_of
from service.watch.house import House, live_batch

WIDTHS_MIN = (1, 5, 60, 360, 1440)
MOST_POINTS = 5000


@dataclass(frozen=True, slots=True)
class Point:
    """One bucket of one probe, calibrated."""

    minute: int
    mean_c: float
    min_c: float
    max_c: float


def series(
    desk: Desk, batch_id: str, from_at: datetime | None, to_at: datetime | None, points: int
) -> SeriesAnswer:
    """What a chart of a batch shows between two times, in at most `points` aligned buckets."""
    if not 2 <= points <= MOST_POINTS:
        raise InvalidInputError(
            Problem("/points", f"must lie between 2 and {MOST_POINTS}", "Ask for about 1000.")
        )
    now = desk.now()
    with desk.record.reading() as connection:
        live = live_batch(batch_by_id(connection, batch_id))
        from_at = from_at or live.row.started_at
        to_at = to_at or live.course.ended_at or now
        if to_at <= from_at:
            raise InvalidInputError(Problem("/to", "does not lie after from", "Give two times in order."))
        first, last = minute_of(from_at), min(minute_of(to_at), minute_of(now)) + 1
        width = _width(first, last, points)
        house = desk.watch.house
        ever = probes_ever(connection)
        windows = stretches(ever, house.assignments, live.row.places, first, last)
        curves = {w: _curve(connection, house, w, width) for w in windows}
        gaps = [
            GapAnswer(probe_id=w.probe_id, from_=_at(a), to=_at(b))
            for w in windows
            for a, b in gaps_between(
                connection, w.number, w.from_minute, w.to_minute, width, _patience(desk, w)
            )
        ]
    spans = bands_between(live.plan, live.course, from_at, to_at)
    return SeriesAnswer(
        bucket_s=width * 60,
        probes=_joined(curves, first, last, width),
        band=[
            BandAnswer(
                from_=s.from_at,
                to=s.to_at,
                stage=s.stage,
                target_c=s.target_c,
                low_c=s.low_c,
                high_c=s.high_c,
            )
            for s in spans
        ],
        strays=[
            stray
            for w, curve in curves.items()
            if w.role == "liquid"
            for stray in _strays(curve, spans, width, w.vessel_id)
        ],
        gaps=gaps,
        probe_changes=probe_marks(ever, house.assignments, live.row.places, from_at, to_at),
    )


def _at(minute: int) -> datetime:
    return EPOCH + timedelta(minutes=minute)


def _width(first: int, last: int, points: int) -> int:
    for width in WIDTHS_MIN:
        if (last - 1) // width - first // width + 1 <= points:
            return width
    raise InvalidInputError(
        Problem(
            "/points", "is too few for so long a stretch, even in days", "Ask for more points, or less time."
        )
    )


def _patience(desk: Desk, stretch: Stretch) -> int:
    interval_s = stretch.interval_s if stretch.interval_s is not None else desk.watch.sweep_s
    return max(2, -(-int(3 * interval_s) // 60))


def _curve(connection: Connection, house: House, window: Stretch, width: int) -> list[Point]:
    lines = house.lines.get(window.probe_id, ())
    changes = [calibrated_from(line) for line in lines]
    cuts = sorted({m for m in changes if window.from_minute < m < window.to_minute})
    edges = [window.from_minute, *cuts, window.to_minute]
    parts: list[Bucket] = []
    for a, b in pairwise(edges):
        line = line_of(lines, a)
        parts += [_calibrated(one, line) for one in buckets(connection, window.number, a, b, width)]
    return [
        Point(one.start_minute, one.mean_mc / 1000, one.min_mc / 1000, one.max_mc / 1000)
        for one in merged(parts)
    ]


def _calibrated(bucket: Bucket, line: CalibrationLine | None) -> Bucket:
    if line is None:
        return bucket
    low, high = (round(line.slope * mc + line.offset_c * 1000) for mc in (bucket.min_mc, bucket.max_mc))
    return Bucket(
        bucket.start_minute, line.slope * bucket.mean_mc + line.offset_c * 1000, low, high, bucket.minutes
    )


def _joined(curves: dict[Stretch, list[Point]], first: int, last: int, width: int) -> list[SeriesProbe]:
    """One curve for each probe and role; a bucket without data is null."""
    together: dict[tuple[str, str], dict[int, Point]] = {}
    for window, curve in curves.items():
        mine = together.setdefault((window.probe_id, window.role), {})
        mine.update({point.minute: point for point in curve})
    starts = range(first - first % width, last, width)
    times = [as_text(_at(start)) for start in starts]
    return [
        SeriesProbe(
            probe_id=probe_id,
            role=role,
            t=times,
            mean_c=[None if (p := found.get(s)) is None else round(p.mean_c, 3) for s in starts],
            min_c=[None if (p := found.get(s)) is None else round(p.min_c, 3) for s in starts],
            max_c=[None if (p := found.get(s)) is None else round(p.max_c, 3) for s in starts],
        )
        for (probe_id, role), found in sorted(together.items(), key=lambda item: (item[0][1], item[0][0]))
    ]


def _strays(
    curve: Sequence[Point], spans: Sequence[BandSpan], width: int, vessel_id: str
) -> Iterator[BatchStray]:
    """Runs of buckets whose mean lies outside the band of their middle, on one side, in one stage."""
    run: BatchStray | None = None
    index = 0
    for point in curve:
        middle = _at(point.minute) + timedelta(minutes=width) / 2
        while index < len(spans) - 1 and spans[index].to_at <= middle:
            index += 1
        side, beyond_c = None, 0.0
        if spans and spans[index].from_at <= middle:
            span = spans[index]
            if span.high_c is not None and point.mean_c > span.high_c:
                side, beyond_c = "warm", point.mean_c - span.high_c
            elif span.low_c is not None and point.mean_c < span.low_c:
                side, beyond_c = "cold", span.low_c - point.mean_c
        begins, ends = _at(point.minute), _at(point.minute + width)
        if run is not None and (run.side != side or run.stage != spans[index].stage or run.to != begins):
            yield run
            run = None
        if side is not None:
            worst = (
                point.mean_c if run is None else (max if side == "warm" else min)(run.worst_c, point.mean_c)
            )
            run = BatchStray(
                from_=begins if run is None else run.from_,
                to=ends,
                side=side,
                worst_c=round(worst, 3),
                stage=spans[index].stage,
                beyond_c=round(max(beyond_c, 0.0 if run is None else run.beyond_c), 3),
                vessel_id=vessel_id,
            )
    if run is not None:
        yield run
