"""Both forms of Retry-After, and what is neither (RFC 9110, 10.2.3)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.notify.retry_after import retry_after_s
from tests.notify.samples import NOON


@pytest.mark.parametrize(
    "value, expected_s",
    [
        (None, None),
        ("", None),
        ("0", 0.0),
        ("120", 120.0),
        (" 120 ", 120.0),
        ("Wed, 25 Nov 2026 12:01:30 GMT", 90.0),
        ("Wed, 25 Nov 2026 11:00:00 GMT", 0.0),
        # The two obsolete forms of an HTTP date (RFC 9110, 5.6.7).
        ("Wednesday, 25-Nov-26 12:01:30 GMT", 90.0),
        ("Wed Nov 25 12:01:30 2026", 90.0),
        ("-5", None),
        ("1.5", None),
        ("soon", None),
        ("９", None),
        ("9" * 400, 315360000.0),
    ],
)
def test_it_reads_seconds_and_dates(value: str | None, expected_s: float | None) -> None:
    assert retry_after_s(value, NOON) == expected_s


@given(st.text(max_size=60))
def test_nonsense_is_nothing_asked_for_and_no_crash(value: str) -> None:
    wait_s = retry_after_s(value, NOON)

    assert wait_s is None or wait_s >= 0
