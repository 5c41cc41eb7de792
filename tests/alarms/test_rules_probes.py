import pytest

from service.alarms.lifecycle import step
from service.alarms.model import AlarmState, CoreState, Presence, Priority, Subject
from service.alarms.rules import (
    Limits,
    Side,
    band_finding,
    no_reading,
    probe_adrift,
    probe_fault,
    probe_frozen,
    silent_limit_s,
)
from tests.alarms.making import about, at, raised

PRESENT, NEAR, ABSENT, UNKNOWN = Presence.PRESENT, Presence.NEAR, Presence.ABSENT, Presence.UNKNOWN


@pytest.mark.parametrize(
    ("silent_s", "interval_s", "presence"),
    [
        (29.9, 2.0, ABSENT),
        (30.0, 2.0, PRESENT),
        (30.0, 10.0, PRESENT),
        (179.0, 60.0, ABSENT),
        (180.0, 60.0, PRESENT),
        (None, 10.0, UNKNOWN),
    ],
)
def test_a_probe_is_silent_after_three_of_its_intervals_and_at_least_30_seconds(
    silent_s: float | None, interval_s: float, presence: Presence
) -> None:
    assert no_reading(about(), silent_s, interval_s).presence is presence


def test_silence_says_what_was_last_believed() -> None:
    found = no_reading(about(now=at(600)), 600.0, 10.0, last_at=at(0), last_c=19.81)

    assert found.reason == "nothing since 14:05, when it was 19.8 C"
    assert found.subject == Subject("no-reading", "bucket", "28-00000a1b2c3d")


def test_silence_from_the_start_says_for_how_long() -> None:
    assert no_reading(about(), 600.0, 10.0).reason == "nothing believed for 10 min"


def test_silence_raises_its_own_alarm_while_the_other_stands() -> None:
    warm, silent = raised(), AlarmState(Subject("no-reading", "bucket", "28-00000a1b2c3d"))

    for second in range(10, 3600, 10):
        band = band_finding(about(now=at(second)), Side.WARM, None, Limits(high_c=21.5), Priority.LOW)
        warm, _ = step(warm, band, at(second))
        silent, _ = step(silent, no_reading(about(now=at(second)), float(second), 10.0), at(second))

    assert warm.core is CoreState.UNACKNOWLEDGED
    assert silent.core is CoreState.UNACKNOWLEDGED
    assert silent.raised_at == at(silent_limit_s(10.0))
    assert silent.priority is Priority.HIGH


@pytest.mark.parametrize(
    ("looks", "faults", "presence"),
    [
        (360, {"crc": 37}, PRESENT),
        (360, {"crc": 36}, NEAR),
        (360, {"crc": 18}, ABSENT),
        (20, {"crc": 9}, ABSENT),
        (360, {}, ABSENT),
        (0, {}, UNKNOWN),
        (None, {}, UNKNOWN),
    ],
)
def test_a_probe_that_fails_more_than_one_time_in_ten_is_named(
    looks: int | None, faults: dict[str, int], presence: Presence
) -> None:
    assert probe_fault(about(), looks, faults).presence is presence


def test_faults_are_named_by_kind_the_most_frequent_first() -> None:
    found = probe_fault(about(), 100, {"power-on": 3, "crc": 20, "jump": 0})

    assert found.reason == "23 of 100 readings in the last hour were faults: crc 20, power-on 3"


@pytest.mark.parametrize(
    ("same_for_s", "value_c", "presence"),
    [(21_600.0, 19.81, PRESENT), (21_599.0, 19.81, ABSENT), (None, None, UNKNOWN)],
)
def test_a_value_that_never_moves_is_not_believed_for_ever(
    same_for_s: float | None, value_c: float | None, presence: Presence
) -> None:
    found = probe_frozen(about(), same_for_s, value_c)

    assert found.presence is presence
    assert (found.reason == "exactly 19.8 C for 6 h") is (presence is PRESENT)


@pytest.mark.parametrize(("adrift", "presence"), [(True, PRESENT), (False, ABSENT), (None, UNKNOWN)])
def test_a_probe_that_has_come_off_is_said_once_it_is_known(adrift: bool | None, presence: Presence) -> None:
    found = probe_adrift(about(), adrift, 17.3, 17.1)

    assert found.presence is presence
    if adrift:
        assert found.reason == "it follows the room since 14:05: it reads 17.3 C, the room 17.1 C"
