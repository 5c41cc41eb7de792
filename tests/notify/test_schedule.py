"""When to try again, when to give up, and when a channel counts as failing."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.notify.envelope import UNCLEAR_FOR, SendFailedError
from service.notify.outbox import FURTHEST
from service.notify.schedule import ChannelFacts, failing, next_attempt
from tests.notify.samples import NOON

MAY_PASS = SendFailedError("busy", transient=True)


def wait_s(attempts: int, error: SendFailedError = MAY_PASS, jitter: float = 0.0) -> float:
    at = next_attempt(attempts, error, NOON, NOON, jitter)
    assert at is not None
    return (at - NOON).total_seconds()


@pytest.mark.parametrize(
    "attempts, expected_s", [(1, 10), (2, 20), (3, 40), (4, 80), (5, 160), (6, 300), (900, 300)]
)
def test_waits_double_up_to_five_minutes(attempts: int, expected_s: float) -> None:
    assert wait_s(attempts) == expected_s


def test_jitter_lengthens_a_wait_by_up_to_a_fifth() -> None:
    assert wait_s(1, jitter=0.5) == pytest.approx(11)
    assert wait_s(1, jitter=1.0) == pytest.approx(12)


@pytest.mark.parametrize(
    "asked_s, expected_s",
    [(5, 10), (120, 120), (0, 10), (-5, 10), (86400, 3600), (1e12, 3600), (float("inf"), 3600)],
)
def test_the_wait_that_was_asked_for_is_kept_up_to_an_hour(asked_s: float, expected_s: float) -> None:
    assert wait_s(1, SendFailedError("busy", transient=True, retry_after_s=asked_s)) == expected_s


def test_a_permanent_refusal_is_given_up_at_once() -> None:
    assert next_attempt(1, SendFailedError("never", transient=False), None, NOON, 0.0) is None


@pytest.mark.parametrize(
    "error, patient_for",
    [
        (MAY_PASS, timedelta(days=5)),
        (SendFailedError("?", transient=True, keep_trying_for=UNCLEAR_FOR), timedelta(hours=24)),
    ],
)
def test_it_gives_up_after_a_long_time_only(error: SendFailedError, patient_for: timedelta) -> None:
    just_before = NOON + patient_for - timedelta(seconds=1)

    assert next_attempt(500, error, NOON, just_before, 0.0) == just_before + timedelta(minutes=5)
    assert next_attempt(500, error, NOON, NOON + patient_for, 0.0) is None


def test_a_clock_that_jumps_ahead_makes_nothing_be_given_up() -> None:
    a_year_on = NOON + timedelta(days=365)

    assert next_attempt(49, MAY_PASS, NOON, a_year_on, 0.0) is not None
    assert next_attempt(50, MAY_PASS, NOON, a_year_on, 0.0) is None


def test_a_first_failure_is_always_tried_again() -> None:
    assert next_attempt(1, MAY_PASS, None, NOON, 0.0) == NOON + timedelta(seconds=10)


@given(
    attempts=st.integers(0, 10_000),
    asked_s=st.one_of(st.none(), st.floats(allow_nan=False)),
    first=st.one_of(st.none(), st.timedeltas(timedelta(days=-9000), timedelta(days=9000))),
    jitter=st.floats(-10, 10),
)
def test_an_attempt_is_never_past_and_never_far_off(
    attempts: int, asked_s: float | None, first: timedelta | None, jitter: float
) -> None:
    error = SendFailedError("busy", transient=True, retry_after_s=asked_s)
    first_failed_at = NOON + first if first is not None else None

    at = next_attempt(attempts, error, first_failed_at, NOON, jitter)

    assert at is None or timedelta(seconds=10) <= at - NOON < FURTHEST


HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)


@pytest.mark.parametrize(
    "facts, expected",
    [
        (ChannelFacts(None, None, None), False),
        (ChannelFacts(None, None, NOON - HOUR), False),
        (ChannelFacts(NOON - HOUR + MINUTE, None, None), False),
        (ChannelFacts(NOON - HOUR, None, None), True),
        (ChannelFacts(NOON - HOUR, None, NOON - 2 * HOUR), True),
        (ChannelFacts(None, NOON - MINUTE, None), True),
        (ChannelFacts(None, NOON - MINUTE, NOON - HOUR), True),
        (ChannelFacts(None, NOON - HOUR, NOON - MINUTE), False),
    ],
)
def test_a_channel_fails_after_an_hour_or_when_a_message_was_given_up(
    facts: ChannelFacts, expected: bool
) -> None:
    assert failing(facts, NOON) is expected
