import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import delete

from service.record.database import Record, open_record
from service.record.gaps import gaps_between
from service.record.minutes import (
    MinuteRow,
    buckets,
    date_undated,
    keep_undated,
    minutes_of,
    newest_minute,
    remove_minutes,
    write_minutes,
)
from service.record.tables import hour, minute
from service.watch.fold import fold_all

BASE = 29_700_000 - 29_700_000 % 1440


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Record]:
    made = open_record(tmp_path_factory.mktemp("record"), None, time.monotonic)
    yield made
    made.close()


@pytest.fixture(autouse=True)
def empty(record: Record) -> None:
    record.write(lambda c: (c.execute(delete(minute)), c.execute(delete(hour))))


def filled(record: Record, minutes: list[int], value: int = 20_000) -> None:
    rows = [MinuteRow(1, BASE + m, value + m % 7, 3, 5, 6) for m in minutes]
    record.write(lambda c: write_minutes(c, rows))


def test_minutes_come_back_as_they_went_in(record: Record) -> None:
    rows = [MinuteRow(1, BASE, -5_123, 62, 63, 6), MinuteRow(1, BASE + 1, 20_000, 0, 0, 1)]

    record.write(lambda c: write_minutes(c, rows))

    with record.reading() as connection:
        assert minutes_of(connection, 1, BASE, BASE + 2) == rows
        assert newest_minute(connection) == BASE + 1


minutes_sets = st.sets(st.integers(0, 400), min_size=1, max_size=60)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(first=minutes_sets, then=minutes_sets, gone=minutes_sets, a=st.integers(0, 400), b=st.integers(0, 400))
def test_hours_and_minutes_never_disagree(
    record: Record, first: set[int], then: set[int], gone: set[int], a: int, b: int
) -> None:
    record.write(lambda c: (c.execute(delete(minute)), c.execute(delete(hour))))
    filled(record, sorted(first))
    filled(record, sorted(then), 21_000)
    record.write(lambda c: remove_minutes(c, [(1, BASE + m) for m in gone]))
    low, high = BASE + min(a, b), BASE + max(a, b) + 1

    with record.reading() as connection:
        stored = minutes_of(connection, 1, low, high)
        for width in (1, 5, 60, 360, 1440):
            found = buckets(connection, 1, low, high, width)
            assert sum(f.minutes for f in found) == len(stored)
            total = sum(f.mean_mc * f.minutes for f in found)
            assert total == pytest.approx(sum(row.mean_mc for row in stored))
            if stored:
                assert min(f.min_mc for f in found) == min(r.mean_mc - r.below_mc for r in stored)
                assert max(f.max_mc for f in found) == max(r.mean_mc + r.above_mc for r in stored)
            assert [f.start_minute for f in found] == sorted({m.minute // width * width for m in stored})


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(present=st.sets(st.integers(0, 239), max_size=200), patience=st.integers(1, 10))
def test_gaps_are_exactly_the_missing_stretches(record: Record, present: set[int], patience: int) -> None:
    record.write(lambda c: (c.execute(delete(minute)), c.execute(delete(hour))))
    filled(record, sorted(present))
    expected, start = [], 0
    for m in [*sorted(present), 240]:
        if m - start > patience:
            expected.append((BASE + start, BASE + m))
        start = m + 1

    with record.reading() as connection:
        assert gaps_between(connection, 1, BASE, BASE + 240, 1, patience) == expected
        assert gaps_between(connection, 1, BASE, BASE + 240, 60, patience) == expected


def test_undated_minutes_are_kept_and_dated_later_without_overwriting(record: Record) -> None:
    filled(record, [2])
    undated = [MinuteRow(1, m, 18_000, 0, 0, 6) for m in (1, 2, 3)]

    record.write(lambda c: keep_undated(c, "boot-1", undated))
    count = record.write(lambda c: date_undated(c, "boot-1", BASE))
    again = record.write(lambda c: date_undated(c, "boot-1", BASE))

    with record.reading() as connection:
        means = [row.mean_mc for row in minutes_of(connection, 1, BASE, BASE + 10)]
    assert (count, again) == (3, 0)
    assert means == [18_000, 20_002, 18_000]


values = st.lists(st.tuples(st.integers(0, 600_000), st.integers(-55_000, 125_000)), min_size=1, max_size=80)


@settings(max_examples=60, deadline=None)
@given(values=values)
def test_folding_loses_and_invents_nothing(values: list[tuple[int, int]]) -> None:
    rows = fold_all(1, values)

    assert sum(row.count for row in rows) == len(values)
    for row in rows:
        mine = [raw for at, raw in values if at // 60_000 == row.minute]
        assert row.count == len(mine)
        assert abs(row.mean_mc - sum(mine) / len(mine)) <= 0.5
        assert (row.mean_mc - row.below_mc, row.mean_mc + row.above_mc) == (min(mine), max(mine))


def test_the_writer_tells_how_it_fares_and_outlives_a_mistake(tmp_path: Path) -> None:
    record = open_record(tmp_path, None, time.monotonic)

    with pytest.raises(ZeroDivisionError):
        record.write(lambda _: 1 / 0)

    assert record.writer.health().failures == 1
    assert record.write(lambda _: 7) == 7
    record.close()


def test_what_fails_leaves_nothing_half_written(record: Record) -> None:
    def work(connection):  # type: ignore[no-untyped-def]
        write_minutes(connection, [MinuteRow(1, BASE, 1, 0, 0, 1)])
        raise RuntimeError("in the middle")

    with pytest.raises(RuntimeError):
        record.write(work)

    with record.reading() as connection:
        assert minutes_of(connection, 1, BASE, BASE + 1) == []
