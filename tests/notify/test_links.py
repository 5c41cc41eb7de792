"""Links that acknowledge one alarm, for a while."""

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.notify.links import LinkExpiredError, LinkForgedError, read, sign
from tests.notify.samples import NOON

KEY = bytes(range(32))
OTHER_KEY = bytes(range(1, 33))
END = NOON + timedelta(days=2)


@given(alarm_id=st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40))
def test_a_link_gives_back_its_alarm(alarm_id: str) -> None:
    assert read(sign(alarm_id, END, KEY), KEY, NOON) == alarm_id


def test_a_link_fits_a_url_as_it_is() -> None:
    token = sign("a-1042", END, KEY)

    assert set(token) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.")
    assert len(token) < 90


def test_a_link_ends_when_it_says() -> None:
    token = sign("a-1042", END, KEY)

    assert read(token, KEY, END - timedelta(seconds=1)) == "a-1042"
    with pytest.raises(LinkExpiredError) as caught:
        read(token, KEY, END)
    assert caught.value.expired_at == END
    assert str(caught.value) == "This link ended at 2026-11-27 12:00 UTC. Open the page to acknowledge."


@given(position=st.integers(0, 200), char=st.sampled_from("AZaz09-_.=é \n"))
def test_a_link_with_any_character_changed_is_refused(position: int, char: str) -> None:
    token = sign("a-1042", END, KEY)
    position %= len(token)
    changed = token[:position] + char + token[position + 1 :]
    if changed == token:
        return

    with pytest.raises(LinkForgedError):
        read(changed, KEY, NOON)


@given(token=st.text(max_size=80))
def test_whatever_else_comes_is_refused(token: str) -> None:
    with pytest.raises(LinkForgedError):
        read(token, KEY, NOON)


def test_a_link_of_another_key_is_refused_even_when_late() -> None:
    token = sign("a-1042", END, OTHER_KEY)

    with pytest.raises(LinkForgedError):
        read(token, KEY, END + timedelta(days=1))


def test_a_link_cannot_be_stretched_or_turned_to_another_alarm() -> None:
    body, mac = sign("a-1042", END, KEY).split(".")
    longer, _ = sign("a-1042", END + timedelta(days=1), KEY).split(".")
    other, _ = sign("a-1043", END, KEY).split(".")

    assert read(f"{body}.{mac}", KEY, NOON) == "a-1042"
    for changed in (longer, other):
        with pytest.raises(LinkForgedError):
            read(f"{changed}.{mac}", KEY, NOON)


def test_a_short_key_or_a_naive_time_is_a_mistake_of_ours() -> None:
    with pytest.raises(ValueError, match="32 bytes"):
        sign("a-1042", END, b"short")
    with pytest.raises(ValueError, match="time zone"):
        sign("a-1042", datetime(2026, 11, 25), KEY)  # noqa: DTZ001 - the mistake itself
