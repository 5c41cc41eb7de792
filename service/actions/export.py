"""A batch's record going out, as JSON and as CSV: in pieces, however long the batch was watched.

The minutes are read a few days at a time, each from a connection of its own, so that a slow reader holds
neither memory nor the database.
"""

import csv
import heapq
import io
import json
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from typing import TypeVar

from service.actions.alarms import one_alarm
from service.actions.batches import batch_answer, places_of, stages_of
from service.actions.desk import Desk
from service.actions.entries import every_entry
from service.actions.entry_asks import ASKS
from service.actions.record_answers import (
    COLUMNS,
    FORMAT,
    VERSION,
    LineOfRecord,
    ProbeOfRecord,
    RecordHead,
    VesselOfRecord,
)
from service.actions.series import MOST_POINTS, series
from service.actions.stretches import Stretch, line_of, stretches
from service.actions.tasting import faults_of
from service.actions.wire import as_text
from service.plans.course import BandSpan, bands_between
from service.record.alarms import alarms
from service.record.batches import batch_by_id
from service.record.facts import CalibrationLine
from service.record.minutes import MinuteRow, minutes_of
from service.record.types import EPOCH
from service.record.vessels import calibrations, probes_ever, vessels_ever
from service.version import __version__
from service.watch.fold import minute_of
from service.watch.house import LiveBatch, live_batch

PIECE_MINUTES = 3 * 1440
ROWS_AT_ONCE = 500
MOST_ALARMS = 100_000
Lines = dict[str, tuple[CalibrationLine, ...]]


def record_json(desk: Desk, batch_id: str) -> Iterator[str]:
    """The record as one JSON document, in pieces; NotFoundError before the first when there is no batch."""
    live, found, lines = _of_batch(desk, batch_id)
    head = _head(desk, live, found, lines).model_dump_json(by_alias=True)
    lists = {name: every_entry(desk, batch_id, name) for name in ASKS}
    begun = head[:-1] + "," + json.dumps(lists)[1:-1] + ',"minutes":['
    return _json_pieces(desk, begun, found, lines)


def record_head(desk: Desk, batch_id: str) -> RecordHead:
    """The record without its minutes and what people wrote down."""
    return _head(desk, *_of_batch(desk, batch_id))


def _json_pieces(desk: Desk, begun: str, found: list[Stretch], lines: Lines) -> Iterator[str]:
    yield begun
    for n, stretch in enumerate(found):
        opening = {
            "probe_id": stretch.probe_id,
            "role": stretch.role,
            "vessel_id": stretch.vessel_id,
            "columns": COLUMNS,
        }
        yield ("," if n else "") + json.dumps(opening)[:-1] + ',"rows":['
        first = True
        for some in _some_at_once(_rows(desk, stretch, lines)):
            text = json.dumps([[as_text(_at(m)), *values] for m, values in some], separators=(",", ":"))
            yield ("" if first else ",") + text[1:-1]
            first = False
        yield "]}"
    yield "]}"


def _head(desk: Desk, live: LiveBatch, found: list[Stretch], lines: Lines) -> RecordHead:
    batch_id, now = live.row.id, desk.now()
    with desk.record.reading() as connection:
        vessels, probes = vessels_ever(connection), probes_ever(connection)
        numbers = [n for n, _ in alarms(connection, None, None, MOST_ALARMS, None, batch_id)]
    ends = max(live.course.ended_at or now, live.row.started_at + timedelta(minutes=1))
    seen = series(desk, batch_id, live.row.started_at, ends, MOST_POINTS)
    return RecordHead(
        format=FORMAT,
        version=VERSION,
        made_at=now,
        made_by=f"gylewatch {__version__}",
        timezone=desk.zone.key,
        batch=batch_answer(live, now),
        stages=stages_of(desk, batch_id)[::-1],
        places=places_of(desk, batch_id)[::-1],
        vessels=[
            VesselOfRecord(
                id=v.id, name=v.name, kind=v.kind, wall=v.wall, volume_l=v.volume_l, near=list(v.near)
            )
            for v in (vessels[one] for one in dict.fromkeys(p.vessel_id for p in live.row.places))
        ],
        probes=[
            ProbeOfRecord(
                id=p.id,
                label=p.label,
                source=p.source,
                mounting=p.mounting,
                calibrations=[
                    LineOfRecord(from_=one.from_at, slope=one.slope, offset_c=one.offset_c)
                    for one in lines.get(p.id, ())
                ],
            )
            for p in (probes[one] for one in dict.fromkeys(s.probe_id for s in found))
        ],
        alarms=[one_alarm(desk, f"a-{n}") for n in reversed(numbers)],
        strays=seen.strays,
        gaps=seen.gaps,
        faults=faults_of(desk, batch_id),
        probe_changes=seen.probe_changes,
    )


def record_csv(desk: Desk, batch_id: str) -> Iterator[str]:
    """The minutes as CSV (RFC 4180), a row a probe-minute in order of time, in pieces.

    Times in UTC and in the brewer's zone with its offset; units in the header; empty where there is none.
    """
    live, found, lines = _of_batch(desk, batch_id)
    first = min((s.from_minute for s in found), default=0)
    last = max((s.to_minute for s in found), default=1)
    spans = bands_between(live.plan, live.course, _at(first), _at(last))
    return _csv_pieces(desk, found, lines, spans)


def _csv_pieces(desk: Desk, found: list[Stretch], lines: Lines, spans: list[BandSpan]) -> Iterator[str]:
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\r\n").writerow
    write(
        [
            *("time (UTC)", f"local time ({desk.zone.key})", "probe", "role", "vessel", "stage"),
            *("mean (C)", "lowest (C)", "highest (C)", "values"),
            *("target (C)", "band low (C)", "band high (C)"),
        ]
    )
    band = _Bands(spans)
    in_order = heapq.merge(*(_told(desk, stretch, lines) for stretch in found), key=lambda row: row[:2])
    for some in _some_at_once(in_order):
        for minute, _, stretch, values in some:
            at, span = _at(minute), band.at(_at(minute) + timedelta(seconds=30))
            beside = [None] * 4 if span is None else [span.stage, span.target_c, span.low_c, span.high_c]
            write(
                [
                    as_text(at),
                    at.astimezone(desk.zone).isoformat(timespec="seconds"),
                    *(stretch.probe_id, stretch.role, stretch.vessel_id, beside[0]),
                    *values,
                    *beside[1:],
                ]
            )
        yield out.getvalue()
        out.seek(0)
        out.truncate()
    yield out.getvalue()


class _Bands:
    """The band at times that only go forward."""

    def __init__(self, spans: list[BandSpan]) -> None:
        self._spans = spans
        self._index = 0

    def at(self, at: datetime) -> BandSpan | None:
        while self._index < len(self._spans) and self._spans[self._index].to_at <= at:
            self._index += 1
        here = self._spans[self._index] if self._index < len(self._spans) else None
        return here if here is not None and here.from_at <= at else None


def _of_batch(desk: Desk, batch_id: str) -> tuple[LiveBatch, list[Stretch], Lines]:
    now = desk.now()
    with desk.record.reading() as connection:
        live = live_batch(batch_by_id(connection, batch_id))
        until = live.course.ended_at or now
        found = stretches(
            probes_ever(connection),
            desk.watch.house.assignments,
            live.row.places,
            minute_of(live.row.started_at),
            min(minute_of(until), minute_of(now)) + 1,
        )
        lines: Lines = {}
        for line in calibrations(connection):
            lines[line.probe_id] = (*lines.get(line.probe_id, ()), line)
    return live, found, lines


Values = tuple[float, float, float, int]


def _rows(desk: Desk, stretch: Stretch, lines: Lines) -> Iterator[tuple[int, Values]]:
    mine = lines.get(stretch.probe_id, ())
    for begins in range(stretch.from_minute, stretch.to_minute, PIECE_MINUTES):
        ends = min(begins + PIECE_MINUTES, stretch.to_minute)
        with desk.record.reading() as connection:
            piece = minutes_of(connection, stretch.number, begins, ends)
        for row in piece:
            yield row.minute, _calibrated(row, line_of(mine, row.minute))


def _told(desk: Desk, stretch: Stretch, lines: Lines) -> Iterator[tuple[int, str, Stretch, Values]]:
    return ((minute, stretch.role, stretch, values) for minute, values in _rows(desk, stretch, lines))


def _calibrated(row: MinuteRow, line: CalibrationLine | None) -> Values:
    slope, offset_mc = (1.0, 0.0) if line is None else (line.slope, line.offset_c * 1000)
    mean, low, high = (
        round((slope * raw_mc + offset_mc) / 1000, 3)
        for raw_mc in (row.mean_mc, row.mean_mc - row.below_mc, row.mean_mc + row.above_mc)
    )
    return mean, low, high, row.count


T = TypeVar("T")


def _some_at_once(every: Iterable[T]) -> Iterator[list[T]]:
    some: list[T] = []
    for one in every:
        some.append(one)
        if len(some) == ROWS_AT_ONCE:
            yield some
            some = []
    if some:
        yield some


def _at(minute: int) -> datetime:
    return EPOCH + timedelta(minutes=minute)
