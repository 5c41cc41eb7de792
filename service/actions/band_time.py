"""Time in band from the record, to the minute: whole hours where they suffice, minutes where they do not.

An hour whose lowest and highest value lie inside the band was inside with every minute; one that lies
outside altogether adds its sum. Only hours that touch an edge are looked at minute by minute, so that a year
of bottles costs little and nothing is rounded.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise

from sqlalchemy import Connection

from service.actions.looking_back import Counted, Hour
from service.actions.stretches import HALF_A_MINUTE, Stretch, calibrated_from, line_of
from service.plans.course import BandSpan, Step
from service.record.facts import CalibrationLine
from service.record.minutes import MINUTES_PER_HOUR, HourRow, hours_of, minutes_of
from service.record.types import EPOCH
from service.watch.fold import minute_of

MINUTE_S = 60.0
LEAST_OF_AN_HOUR = 30


@dataclass(frozen=True, slots=True)
class _Piece:
    """Minutes [first, last) of one band, one step and one calibration. low, high: C, None without limit."""

    first: int
    last: int
    step: int
    low: float | None
    high: float | None
    slope: float
    offset_c: float


def counted_in(
    connection: Connection,
    stretch: Stretch,
    lines: Sequence[CalibrationLine],
    spans: Sequence[BandSpan],
    steps: Sequence[Step],
    rows: Sequence[HourRow],
) -> dict[int, Counted]:
    """What one probe's stretch comes to, by the number of the step; stages without a band are not counted.

    rows: the hours of the stretch (`hours_rows`).
    """
    found: dict[int, Counted] = {}
    hours = {row.hour: row for row in rows}
    for piece in _pieces(stretch, lines, spans, steps):
        counted = found.setdefault(piece.step, Counted())
        for first, last in _by_the_minute(piece, hours, counted):
            for row in minutes_of(connection, stretch.number, first, last):
                _add(counted, piece, row.mean_mc, 1)
    return {n: counted for n, counted in found.items() if counted.watched_s}


def hours_rows(connection: Connection, stretch: Stretch) -> list[HourRow]:
    """The stored hours of a stretch, oldest first."""
    return hours_of(connection, stretch.number, stretch.from_minute, stretch.to_minute)


def hours_in(rows: Sequence[HourRow], stretch: Stretch, lines: tuple[CalibrationLine, ...]) -> list[Hour]:
    """Calibrated means of the clock hours of a stretch of which at least half was measured, oldest first.

    An hour that is shared with another place is left out.
    """
    found = []
    for row in rows:
        first = row.hour * MINUTES_PER_HOUR
        if row.minutes < LEAST_OF_AN_HOUR or first < stretch.from_minute:
            continue
        line = line_of(lines, first) if lines else None
        mean_c = row.sum_mc / row.minutes / 1000
        found.append(
            Hour(
                EPOCH + timedelta(hours=row.hour),
                mean_c if line is None else line.slope * mean_c + line.offset_c,
            )
        )
    return found


def _pieces(
    stretch: Stretch, lines: Sequence[CalibrationLine], spans: Sequence[BandSpan], steps: Sequence[Step]
) -> Iterator[_Piece]:
    entered = [step.entered_at for step in steps]
    changes = [calibrated_from(line) for line in lines]
    for span in spans:
        if span.low_c is None and span.high_c is None:
            continue
        # a minute belongs to the span that its middle lies in
        first = max(stretch.from_minute, minute_of(span.from_at + HALF_A_MINUTE - timedelta(microseconds=1)))
        last = min(stretch.to_minute, minute_of(span.to_at + HALF_A_MINUTE - timedelta(microseconds=1)))
        step = steps[max(0, bisect_right(entered, span.from_at) - 1)].n
        edges = [first, *sorted(m for m in changes if first < m < last), last]
        for a, b in pairwise(edges):
            if a < b:
                line = line_of(tuple(lines), a)
                slope, offset_c = (1.0, 0.0) if line is None else (line.slope, line.offset_c)
                yield _Piece(a, b, step, span.low_c, span.high_c, slope, offset_c)


def _by_the_minute(piece: _Piece, hours: dict[int, HourRow], counted: Counted) -> Iterator[tuple[int, int]]:
    """Counts the hours that can be counted whole; gives the stretches that must be read by the minute."""
    whole_from, whole_to = -(-piece.first // MINUTES_PER_HOUR), piece.last // MINUTES_PER_HOUR
    if whole_from >= whole_to:
        yield piece.first, piece.last
        return
    waits: int | None = piece.first if piece.first < whole_from * MINUTES_PER_HOUR else None
    for hour in range(whole_from, whole_to):
        row = hours.get(hour)
        if row is None or _add_whole(counted, piece, row):
            if waits is not None:
                yield waits, hour * MINUTES_PER_HOUR
                waits = None
        elif waits is None:
            waits = hour * MINUTES_PER_HOUR
    begins = whole_to * MINUTES_PER_HOUR if waits is None else waits
    if begins < piece.last:
        yield begins, piece.last


def _add_whole(counted: Counted, piece: _Piece, row: HourRow) -> bool:
    """Counts an hour if all of it lies on one side of each edge."""
    ends = (_calibrated(piece, row.min_mc), _calibrated(piece, row.max_mc))
    lowest, highest = min(ends), max(ends)
    below = piece.low is not None and highest < piece.low
    above = piece.high is not None and lowest > piece.high
    inside = (piece.low is None or lowest >= piece.low) and (piece.high is None or highest <= piece.high)
    if not (below or above or inside):
        return False
    _add(counted, piece, row.sum_mc / row.minutes, row.minutes)
    return True


def _add(counted: Counted, piece: _Piece, mean_mc: float, minutes: int) -> None:
    temp_c = _calibrated(piece, mean_mc)
    over = max(0.0, temp_c - piece.high) if piece.high is not None else 0.0
    under = max(0.0, piece.low - temp_c) if piece.low is not None else 0.0
    counted.watched_s += minutes * MINUTE_S
    counted.inside_s += 0.0 if over or under else minutes * MINUTE_S
    counted.warm += over * minutes / MINUTES_PER_HOUR
    counted.cold += under * minutes / MINUTES_PER_HOUR


def _calibrated(piece: _Piece, raw_mc: float) -> float:
    return piece.slope * raw_mc / 1000 + piece.offset_c
