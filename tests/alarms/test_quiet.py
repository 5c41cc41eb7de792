"""Changes of local clocks as the tz database has them: Berlin, New York, and Lord Howe by half an hour."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.alarms.quiet import QuietHours

BERLIN, NEW_YORK = ZoneInfo("Europe/Berlin"), ZoneInfo("America/New_York")
LORD_HOWE = ZoneInfo("Australia/Lord_Howe")


def nightly(tz: ZoneInfo, start: str, end: str) -> QuietHours:
    return QuietHours(tz, {day: (time.fromisoformat(start), time.fromisoformat(end)) for day in range(7)})


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("quiet", "begins", "ends"),
    [
        (nightly(BERLIN, "22:00", "07:00"), "2026-01-14T21:00", "2026-01-15T06:00"),
        (nightly(BERLIN, "22:00", "07:00"), "2026-07-14T20:00", "2026-07-15T05:00"),
        (nightly(BERLIN, "22:00", "07:00"), "2026-03-28T21:00", "2026-03-29T05:00"),
        (nightly(BERLIN, "22:00", "07:00"), "2026-10-24T20:00", "2026-10-25T06:00"),
        (nightly(BERLIN, "22:00", "02:30"), "2026-03-28T21:00", "2026-03-29T01:00"),
        (nightly(BERLIN, "02:30", "05:00"), "2026-03-29T01:00", "2026-03-29T03:00"),
        (nightly(BERLIN, "22:00", "02:30"), "2026-10-24T20:00", "2026-10-25T00:30"),
        (nightly(BERLIN, "02:30", "05:00"), "2026-10-25T00:30", "2026-10-25T04:00"),
        (nightly(NEW_YORK, "23:00", "06:30"), "2026-03-08T04:00", "2026-03-08T10:30"),
        (nightly(NEW_YORK, "23:00", "06:30"), "2026-11-01T03:00", "2026-11-01T11:30"),
        (nightly(LORD_HOWE, "22:00", "02:15"), "2026-10-03T11:30", "2026-10-03T15:30"),
        (nightly(BERLIN, "13:00", "15:00"), "2026-01-14T12:00", "2026-01-14T14:00"),
    ],
)
def test_quiet_begins_and_ends_by_the_local_clock(quiet: QuietHours, begins: str, ends: str) -> None:
    second = timedelta(seconds=1)

    assert [quiet.covers(utc(begins) - second), quiet.covers(utc(begins))] == [False, True]
    assert [quiet.covers(utc(ends) - second), quiet.covers(utc(ends))] == [True, False]
    assert quiet.end_after(utc(begins)) == utc(ends)


def test_only_the_weekdays_that_are_named_are_quiet() -> None:
    weekend = QuietHours(BERLIN, {4: (time(23), time(9)), 5: (time(23), time(9))})

    assert weekend.covers(utc("2026-11-27T23:00"))
    assert weekend.covers(utc("2026-11-28T07:59"))
    assert weekend.covers(utc("2026-11-29T07:59"))
    assert not weekend.covers(utc("2026-11-29T23:00"))
    assert not weekend.covers(utc("2026-11-26T23:00"))


def test_without_any_hours_nothing_is_quiet() -> None:
    assert not QuietHours(BERLIN).covers(utc("2026-11-27T23:00"))
    assert QuietHours(BERLIN).end_after(utc("2026-11-27T23:00")) == utc("2026-11-27T23:00")


def test_a_day_that_is_quiet_from_end_to_end_goes_over_into_the_night_after_it() -> None:
    sunday = QuietHours(BERLIN, {6: (time(0), time(0)), 0: (time(0), time(6))})

    assert sunday.end_after(utc("2026-11-29T12:00")) == utc("2026-11-30T05:00")


def test_a_channel_that_is_always_quiet_has_no_end_of_quiet() -> None:
    assert nightly(BERLIN, "08:00", "08:00").end_after(utc("2026-11-29T12:00")) is None


moments = st.integers(0, 2 * 366 * 1440).map(
    lambda minutes: datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
)
clocks = st.times(max_value=time(23, 59)).map(lambda t: t.replace(second=0, microsecond=0))


@settings(max_examples=150, deadline=None)
@given(st.sampled_from([BERLIN, NEW_YORK, LORD_HOWE]), clocks, clocks, moments)
def test_the_end_of_quiet_is_the_first_moment_that_is_not_quiet(
    tz: ZoneInfo, start: time, end: time, moment: datetime
) -> None:
    quiet = QuietHours(tz, dict.fromkeys((0, 2, 4, 6), (start, end)))

    until = quiet.end_after(moment)

    assert until is not None
    assert not quiet.covers(until)
    assert until == moment or quiet.covers(until - timedelta(seconds=1))
    assert (until == moment) is not quiet.covers(moment)
