from datetime import date, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.record.outbox import messages
from service.watch.digest import day_due
from tests.rig import PROBE, START, Rig, rig_in, with_batch

WEBHOOK = {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"}
BERLIN = ZoneInfo("Europe/Berlin")


def digests(rig: Rig) -> list[dict[str, Any]]:
    """Every digest, oldest first."""
    with rig.record.reading() as connection:
        return [dict(m) for m in reversed(messages(connection)) if m["reason"] == "digest"]


def test_it_comes_once_a_day_and_says_how_everything_is(rig: Rig) -> None:
    rig.post("/channels", {**WEBHOOK, "digest_at": "08:30"})
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6

    rig.until(1700)
    early = digests(rig)
    rig.until(3600)

    assert early == []
    assert len(digests(rig)) == 1
    digest = digests(rig)[0]
    assert digest["title"] == "gylewatch, Wed 08:30: 1 alarm stands"
    assert "Bucket: too warm" in digest["text"]
    assert (
        "- Bucket: 22.6 C, Stair brown in primary, band 18.5 C to 21.5 C, due 2026-12-04 08:00."
        in digest["text"]
    )
    assert [a["key"] for a in digest["alarms"]] == ["above-band"]


def test_a_channel_that_asks_after_its_time_begins_tomorrow(rig: Rig) -> None:
    rig.post("/channels", {**WEBHOOK, "digest_at": "07:00"})
    rig.rounds(3)
    today = digests(rig)

    rig.clock.forward(23 * 3600)
    rig.rounds(3)

    assert today == []
    assert len(digests(rig)) == 1
    assert "Alarms that stand: none." in digests(rig)[0]["text"]


def test_a_restart_repeats_none_and_one_missed_while_off_is_made_up_for(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        first.post("/channels", {**WEBHOOK, "digest_at": "08:01"})
        first.until(120)
        clock = first.clock
    with rig_in(tmp_path, 20.0, clock) as second:
        second.rounds(3)
        again = len(digests(second))
    clock.forward(26 * 3600)
    with rig_in(tmp_path, 20.0, clock) as third:
        third.rounds(3)

        assert again == 1
        assert len(digests(third)) == 2


def test_a_silent_probe_is_said_to_be_silent(rig: Rig) -> None:
    rig.post("/channels", {**WEBHOOK, "digest_at": "08:05"})
    with_batch(rig)
    rig.source.values[PROBE] = None

    rig.until(400)

    assert "- Bucket: no reading" in digests(rig)[0]["text"]


def test_it_is_not_sent_by_a_clock_that_is_not_believed(rig: Rig) -> None:
    rig.post("/channels", {**WEBHOOK, "digest_at": "08:01"})
    rig.clock.why_not = "not set yet"

    rig.until(300)

    assert digests(rig) == []


def test_an_alarm_that_arises_beside_it_is_a_message_of_its_own(rig: Rig) -> None:
    rig.post("/channels", {**WEBHOOK, "digest_at": "08:01"})
    with_batch(rig)
    rig.rounds(8)
    rig.clock.at -= timedelta(seconds=300)
    rig.source.values[PROBE] = 22.6

    rig.until(900)

    assert len(digests(rig)) == 1
    with rig.record.reading() as connection:
        assert "first" in [m["reason"] for m in messages(connection)]


@pytest.mark.parametrize("wrong", ["8:00", "24:00", "08.00", "noon", ""])
def test_a_time_that_is_none_is_refused(rig: Rig, wrong: str) -> None:
    answer = rig.post("/channels", {**WEBHOOK, "digest_at": wrong}, expect=422)

    assert answer["errors"][0]["field"] == "/digest_at"


def test_it_can_be_ended(rig: Rig) -> None:
    rig.post("/channels", {**WEBHOOK, "digest_at": "08:30"})

    rig.patch("/channels/hall", {"digest_at": None})
    rig.until(2400)

    assert digests(rig) == []


@settings(max_examples=40, deadline=None)
@given(
    hours=st.integers(0, 365 * 24),
    digest_at=st.builds("{:02}:{:02}".format, st.integers(0, 23), st.integers(0, 59)),
)
def test_every_day_has_exactly_one_across_changes_of_the_clock(hours: int, digest_at: str) -> None:
    now = START + timedelta(hours=hours)
    last = first = day_due(digest_at, BERLIN, now)
    days: list[date] = []

    for _ in range(12 * 24 * 10):
        now += timedelta(minutes=5)
        day = day_due(digest_at, BERLIN, now)
        if last < day:
            last = day
            days.append(day)

    assert days == [first + timedelta(days=n + 1) for n in range(len(days))]
    assert len(days) in (9, 10, 11)
