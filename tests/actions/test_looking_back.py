"""Time in band by whole hours and single minutes is the same as by every minute, and what is counted how."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from random import Random

import pytest

from service.actions.band_time import counted_in, hours_in, hours_rows
from service.actions.looking_back import Counted, Hour, extremes
from service.actions.stretches import Stretch
from service.plans.course import BandSpan, How, Step
from service.record.database import Record, open_record
from service.record.facts import CalibrationLine
from service.record.minutes import MinuteRow, write_minutes
from service.record.types import EPOCH

BEGAN = datetime(2026, 11, 1, tzinfo=UTC)
FIRST = int((BEGAN - EPOCH).total_seconds()) // 60


def at(hours: float) -> datetime:
    return BEGAN + timedelta(hours=hours)


STEPS = [
    Step(1, "warm", at(0), at(2), None, How.START),
    Step(2, "open", at(2), at(3), None, How.ADVANCE),
    Step(3, "cold", at(3), None, None, How.ADVANCE),
]
SPANS = [
    BandSpan(at(0), at(2), "warm", 20, 19, 21),
    BandSpan(at(2), at(3), "open", None, None, None),
    BandSpan(at(3), at(12.25), "cold", 4, None, 6),
]


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    made = open_record(tmp_path, None, lambda: 0.0)
    yield made
    made.close()


def counted(
    record: Record,
    temps: Mapping[int, float],
    lines: Sequence[CalibrationLine] = (),
    spans: Sequence[BandSpan] = SPANS,
    hours: float = 12.0,
) -> dict[int, Counted]:
    """The minutes (counted from BEGAN) in the record, held against the bands."""
    stretch = keep(record, temps, hours)
    with record.reading() as connection:
        return counted_in(connection, stretch, lines, spans, STEPS, hours_rows(connection, stretch))


def keep(record: Record, temps: Mapping[int, float], hours: float) -> Stretch:
    rows = [MinuteRow(1, FIRST + m, round(1000 * c), 0, 0, 6) for m, c in temps.items()]
    record.write(lambda connection: write_minutes(connection, rows))
    return Stretch("p", 1, "liquid", "tub", None, FIRST, FIRST + round(hours * 60))


def test_each_step_is_counted_by_itself_and_one_without_a_band_is_not(record: Record) -> None:
    temps = {m: 22.0 if m < 60 else 20.0 for m in range(180)} | dict.fromkeys(range(180, 240), 7.0)

    found = counted(record, temps)

    assert set(found) == {1, 3}
    assert (found[1].watched_s, found[1].inside_s, found[1].share) == (7200.0, 3600.0, 0.5)
    assert found[1].warm == pytest.approx(1.0)
    assert found[1].cold == 0.0
    assert (found[3].watched_s, found[3].inside_s) == (3600.0, 0.0)
    assert found[3].warm == pytest.approx(1.0)


def test_minutes_outside_the_batch_are_not_counted(record: Record) -> None:
    assert counted(record, {-1: 20.0, 12 * 60: 5.0, 13 * 60: 5.0}) == {}


def test_the_edge_of_the_band_belongs_to_it(record: Record) -> None:
    found = counted(record, {0: 21.0, 1: 19.0, 2: 21.001})

    assert (found[1].watched_s, found[1].inside_s) == (180.0, 120.0)


def test_a_minute_belongs_to_the_stage_that_its_middle_lies_in(record: Record) -> None:
    turns = BEGAN + timedelta(minutes=10, seconds=31)
    spans = [
        BandSpan(BEGAN, turns, "warm", 20, 19, 21),
        BandSpan(turns, at(2), "open", None, None, None),
    ]

    found = counted(record, dict.fromkeys(range(20), 20.0), spans=spans)

    assert found[1].watched_s == 11 * 60


@pytest.mark.parametrize("seed", range(6))
def test_by_hours_and_minutes_is_as_by_every_minute(seed: int, record: Record) -> None:
    chance = Random(seed)
    edges = [at(0), *sorted(at(chance.uniform(0, 12)) for _ in range(6)), at(12)]
    spans = [
        BandSpan(a, b, "s", None, chance.choice([None, 19.0, 19.5]), chance.choice([None, 20.5, 21.0]))
        for a, b in pairwise(edges)
    ]
    lines = [CalibrationLine("p", at(-1), 1.0, 0.0), CalibrationLine("p", at(4.4), 1.02, -0.3)]
    temp, temps = 20.0, {}
    for m in range(720):
        temp += chance.gauss(0, 0.02) + 0.01 * (20 - temp)
        if not 300 <= m < 330 and chance.random() < 0.95:
            temps[m] = round(temp + (0.8 if 400 < m < 560 else 0.0), 3)

    found = counted(record, temps, lines, spans)

    plain = Counted()
    for m, raw in temps.items():
        middle = BEGAN + timedelta(minutes=m, seconds=30)
        c = raw if middle < at(4.4) else 1.02 * raw - 0.3
        span = next(s for s in spans if s.from_at <= middle < s.to_at)
        if span.low_c is None and span.high_c is None:
            continue
        over = max(0.0, c - span.high_c) if span.high_c is not None else 0.0
        under = max(0.0, span.low_c - c) if span.low_c is not None else 0.0
        plain.watched_s += 60
        plain.inside_s += 0 if over or under else 60
        plain.warm += over / 60
        plain.cold += under / 60
    whole = Counted()
    for one in found.values():
        whole.add(one)
    assert (whole.watched_s, whole.inside_s) == (plain.watched_s, plain.inside_s)
    assert whole.warm == pytest.approx(plain.warm, abs=1e-9)
    assert whole.cold == pytest.approx(plain.cold, abs=1e-9)


def test_an_hour_hardly_measured_is_no_extreme(record: Record) -> None:
    temps = dict.fromkeys(range(60), 20.0) | {60 + m: 30.0 for m in range(29)}
    stretch = keep(record, temps, 12)
    with record.reading() as connection:
        hours = hours_in(hours_rows(connection, stretch), stretch, (CalibrationLine("p", at(-1), 1.0, 0.5),))

    assert hours == [Hour(at(0), 20.5)]
    assert extremes(hours, at(1), at(2)) == (None, None)
    assert extremes(hours, at(0), at(2)) == (hours[0], hours[0])
