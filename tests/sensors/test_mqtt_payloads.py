"""What a probe listens to, and what a payload holds for it."""

import json
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sensors.pushed import Found, Refusal, Wanted, fits, path_fault, read_payload, topic_fault
from sensors.sample import ProbeId

PROBE = ProbeId("cupboard-air")
NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def read(payload: bytes | str, path: str | None = None, time_path: str | None = None) -> Found | Refusal:
    raw = payload.encode() if isinstance(payload, str) else payload
    return read_payload(Wanted(PROBE, "a", path, time_path), raw)


@pytest.mark.parametrize(
    ("payload", "value_c"), [("19.5", 19.5), (" -0.25\n", -0.25), ("+7", 7.0), ("1.95e1", 19.5), (".5", 0.5)]
)
def test_a_bare_number_is_the_value(payload: str, value_c: float) -> None:
    assert read(payload) == Found(value_c, None)


@pytest.mark.parametrize(
    ("payload", "refusal"),
    [
        (b"", Refusal.NOT_A_NUMBER),
        (b"nan", Refusal.NOT_A_NUMBER),
        (b"1e999", Refusal.NOT_A_NUMBER),
        (b"1_0", Refusal.NOT_A_NUMBER),
        ("١٩".encode(), Refusal.NOT_A_NUMBER),
        (b"19.5 C", Refusal.NOT_A_NUMBER),
        (b'{"temp": 19.5}', Refusal.NOT_A_NUMBER),
        (b"\xff\xfe\x00", Refusal.NOT_TEXT),
        (b"1" * 70_000, Refusal.TOO_LONG),
    ],
)
def test_what_is_no_bare_number_is_refused_with_its_reason(payload: bytes, refusal: Refusal) -> None:
    assert read(payload) is refusal


@pytest.mark.parametrize(
    ("path", "value_c"),
    [("t", 19.5), ("deep.er.t", 18.0), ("list.1.t", 17.0), ("texts.t", 16.5), ("2", 4.0)],
)
def test_a_path_leads_to_the_value(path: str, value_c: float) -> None:
    payload = {
        "t": 19.5,
        "deep": {"er": {"t": 18}},
        "list": [{"t": 1}, {"t": 17}],
        "texts": {"t": "16.5"},
        "2": 4,
    }

    assert read(json.dumps(payload), path) == Found(value_c, None)


@pytest.mark.parametrize(
    ("payload", "path", "refusal"),
    [
        ("{", "t", Refusal.NOT_JSON),
        ("[" * 20_000, "t", Refusal.NOT_JSON),
        ("9" * 5_000, "t", Refusal.NOT_JSON),
        ("19.5", "t", Refusal.NOTHING_THERE),
        ("null", "t", Refusal.NOTHING_THERE),
        ('{"t": null}', "t", Refusal.NOTHING_THERE),
        ('{"u": 1}', "t", Refusal.NOTHING_THERE),
        ("[1, 2]", "2", Refusal.NOTHING_THERE),
        ("[1, 2]", "-1", Refusal.NOTHING_THERE),
        ("[1, 2]", "²", Refusal.NOTHING_THERE),
        ('{"t": true}', "t", Refusal.NOT_A_NUMBER),
        ('{"t": NaN}', "t", Refusal.NOT_A_NUMBER),
        ('{"t": "unavailable"}', "t", Refusal.NOT_A_NUMBER),
        ('{"t": {}}', "t", Refusal.NOT_A_NUMBER),
        ('{"t": 1' + "0" * 400 + "}", "t", Refusal.NOT_A_NUMBER),
    ],
)
def test_a_payload_without_a_number_at_its_path_is_refused(payload: str, path: str, refusal: Refusal) -> None:
    assert read(payload, path) is refusal


@pytest.mark.parametrize(
    "told",
    ["2026-11-25T12:00:00Z", "2026-11-25 13:00:00.000+01:00", "2026-11-25t12:00:00z", NOON.timestamp()],
)
def test_a_payload_may_tell_its_own_time(told: Any) -> None:
    assert read(json.dumps({"t": 19.5, "at": told}), "t", "at") == Found(19.5, NOON)


@pytest.mark.parametrize(
    ("told", "refusal"),
    [
        (None, Refusal.NO_TIME),
        ("2026-11-25T12:00:00", Refusal.NOT_A_TIME),
        ("2026-13-25T12:00:00Z", Refusal.NOT_A_TIME),
        ("0001-01-01T00:00:00+12:00", Refusal.NOT_A_TIME),
        (NOON.timestamp() * 1000, Refusal.NOT_A_TIME),
        (1200, Refusal.NOT_A_TIME),
        (True, Refusal.NOT_A_TIME),
        ([], Refusal.NOT_A_TIME),
    ],
)
def test_a_time_that_cannot_be_told_refuses_the_value(told: Any, refusal: Refusal) -> None:
    assert read(json.dumps({"t": 19.5, "at": told}), "t", "at") is refusal


@settings(max_examples=150)
@given(payload=st.binary(max_size=60), path=st.sampled_from([None, "t", "0.t"]))
def test_no_payload_makes_the_reader_raise(payload: bytes, path: str | None) -> None:
    assert isinstance(read(payload, path, None if path is None else "at"), Found | Refusal)


@pytest.mark.parametrize(
    ("topic_filter", "topic", "does"),
    [
        # the examples of MQTT 3.1.1, sections 4.7.1 and 4.7.2
        ("sport/tennis/player1/#", "sport/tennis/player1", True),
        ("sport/tennis/player1/#", "sport/tennis/player1/ranking", True),
        ("sport/tennis/player1/#", "sport/tennis/player1/score/wimbledon", True),
        ("sport/#", "sport", True),
        ("#", "sport/tennis", True),
        ("sport/tennis/+", "sport/tennis/player1", True),
        ("sport/tennis/+", "sport/tennis/player1/ranking", False),
        ("sport/+", "sport", False),
        ("sport/+", "sport/", True),
        ("+/+", "/finance", True),
        ("/+", "/finance", True),
        ("+", "/finance", False),
        ("#", "$SYS/uptime", False),
        ("+/monitor/Clients", "$SYS/monitor/Clients", False),
        ("$SYS/#", "$SYS/uptime", True),
        ("Accounts", "ACCOUNTS", False),
        ("sport/tennis", "sport/golf", False),
    ],
)
def test_filters_match_as_the_standard_says(topic_filter: str, topic: str, does: bool) -> None:
    assert topic_fault(topic_filter) == ""
    assert fits(topic_filter, topic) is does


@pytest.mark.parametrize(
    ("topic", "words"),
    [
        ("", "1 to 65,535 bytes"),
        ("x" * 65_536, "1 to 65,535 bytes"),
        ("sport+", "whole level"),
        ("sport/tennis#", "whole last level"),
        ("sport/tennis/#/ranking", "whole last level"),
        ("cellar/\x00", "control"),
        ("cellar/\ud800", "control"),
        ("$share/us/cellar", "shared"),
    ],
)
def test_an_illegal_topic_is_refused_in_words(topic: str, words: str) -> None:
    assert words in topic_fault(topic)


@pytest.mark.parametrize("path", ["", "a..b", ".a", "a.", "a\nb", "a\ud800", "a" * 201])
def test_an_illegal_path_is_refused_in_words(path: str) -> None:
    assert path_fault(path).startswith("must")


def test_a_path_of_names_and_numbers_is_right() -> None:
    assert path_fault("readings.0.temp c") == ""
