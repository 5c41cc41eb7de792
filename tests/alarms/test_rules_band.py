from datetime import timedelta

import pytest

from service.alarms.lifecycle import step
from service.alarms.model import AlarmState, Presence, Priority
from service.alarms.rules import (
    Limits,
    Side,
    band_finding,
    gone,
    held_back_until_reached,
    not_reached,
    phase_priority,
)
from service.alarms.words import Units
from tests.alarms.making import T0, WARM, about, at, raised

PRESENT, NEAR, ABSENT, UNKNOWN = Presence.PRESENT, Presence.NEAR, Presence.ABSENT, Presence.UNKNOWN
BAND = Limits(low_c=18.5, high_c=21.5, target_c=20.0, deadband_c=0.3, after_s=600.0, clear_after_s=900.0)


@pytest.mark.parametrize(
    ("side", "temp_c", "presence"),
    [
        (Side.WARM, 22.6, PRESENT),
        (Side.WARM, 21.51, PRESENT),
        (Side.WARM, 21.5, NEAR),
        (Side.WARM, 21.25, NEAR),
        (Side.WARM, 21.0, ABSENT),
        (Side.WARM, 5.0, ABSENT),
        (Side.WARM, None, UNKNOWN),
        (Side.COLD, 18.0, PRESENT),
        (Side.COLD, 18.5, NEAR),
        (Side.COLD, 18.75, NEAR),
        (Side.COLD, 19.0, ABSENT),
        (Side.COLD, None, UNKNOWN),
    ],
)
def test_a_temperature_is_outside_near_or_inside(
    side: Side, temp_c: float | None, presence: Presence
) -> None:
    assert band_finding(about(), side, temp_c, BAND, Priority.LOW).presence is presence


def test_without_a_deadband_of_its_own_the_catalogues_holds() -> None:
    band = Limits(high_c=21.5)

    assert band_finding(about(), Side.WARM, 21.25, band, Priority.LOW).presence is NEAR
    assert band_finding(about(), Side.WARM, 21.1, band, Priority.LOW).presence is ABSENT


def test_the_reason_reads_as_people_talk_in_their_own_time() -> None:
    found = band_finding(about(since=T0, now=at(3600)), Side.WARM, 22.6, BAND, Priority.HIGH)

    assert found.reason == "22.6 C since 14:05, 1.1 C over the band"
    assert found.numbers == {
        "now_c": 22.6,
        "limit_c": 21.5,
        "over_c": 1.1,
        "low_c": 18.5,
        "high_c": 21.5,
        "target_c": 20.0,
    }
    assert (found.priority, found.after_s, found.clear_after_s) == (Priority.HIGH, 600.0, 900.0)
    assert found.subject == WARM
    assert found.names["vessel"] == "Bucket"


def test_yesterday_is_named_by_its_day_and_fahrenheit_by_its_letter() -> None:
    found = band_finding(
        about(since=T0, now=at(86_400), units=Units.FAHRENHEIT), Side.COLD, 17.5, BAND, Priority.LOW
    )

    assert found.reason == "63.5 F since Wed 14:05, 1.8 F under the band"


def test_a_hair_over_is_not_called_zero_over() -> None:
    found = band_finding(about(), Side.WARM, 21.52, BAND, Priority.LOW)

    assert found.reason == "21.5 C since 14:05, just over the band"


def test_a_stage_without_that_limit_or_that_alarm_raises_none_and_ends_the_old_one() -> None:
    without_limit = band_finding(about(), Side.WARM, 99.0, Limits(low_c=98.0), Priority.LOW)
    without_alarm = band_finding(about(), Side.WARM, 99.0, BAND, None)

    for found in (without_limit, without_alarm):
        assert found.presence is ABSENT
        assert not step(raised(), found, at(10))[0].cause_stands


def test_it_is_held_back_while_the_band_is_still_to_be_reached() -> None:
    found = band_finding(about(), Side.WARM, 30.0, BAND, Priority.HIGH, held_back=True)

    assert found.presence is ABSENT
    assert "on its way" in found.reason


@pytest.mark.parametrize(
    ("reached", "within_s", "after_s", "held"),
    [
        (False, 900.0, 899, True),
        (False, 900.0, 900, False),
        (True, 900.0, 10, False),
        (False, None, 10, False),
    ],
)
def test_holding_back_ends_when_it_is_reached_or_late(
    reached: bool, within_s: float | None, after_s: float, held: bool
) -> None:
    assert held_back_until_reached(reached, T0, within_s, at(after_s)) is held


@pytest.mark.parametrize(
    ("reached", "within_s", "temp_c", "presence"),
    [
        (False, 900.0, 55.0, PRESENT),
        (False, 900.0, None, UNKNOWN),
        (False, 1800.0, 55.0, ABSENT),
        (True, 900.0, 55.0, ABSENT),
        (False, None, 55.0, ABSENT),
    ],
)
def test_a_band_not_reached_in_time_is_said(
    reached: bool, within_s: float | None, temp_c: float | None, presence: Presence
) -> None:
    found = not_reached(
        about(now=at(1000)), temp_c, BAND, reached=reached, entered_at=T0, reach_within_s=within_s
    )

    assert found.presence is presence
    if presence is PRESENT:
        assert found.reason == (
            "55.0 C, and its band was to be reached by 14:20, 15 min after the stage began"
        )


def test_what_an_alarm_was_about_being_over_ends_it_at_once() -> None:
    state, changes = step(raised(), gone(WARM, "the batch has ended"), at(1))

    assert not state.cause_stands
    assert [c.cause for c in changes] == ["the batch has ended"]


WARM_SIDE = [
    ("primary", None, None, "high"),
    ("primary", None, 71.9, "high"),
    ("primary", None, 72.0, "low"),
    ("primary", 0.33, 50.0, "high"),
    ("primary", 0.34, 50.0, "low"),
    ("primary", 0.1, 80.0, "low"),
    ("mash", None, None, "medium"),
    ("boil", None, None, None),
    ("steep", None, None, "low"),
    ("chill", None, None, None),
    ("stand", None, None, None),
    ("hold", None, None, None),
    ("rest", None, None, "low"),
    ("crash", None, None, "low"),
    ("condition", None, None, "medium"),
]
COLD_SIDE = [
    ("primary", None, None, "medium"),
    ("primary", 0.89, 100.0, "medium"),
    ("primary", 0.9, 100.0, "low"),
    ("mash", None, None, "medium"),
    ("boil", None, None, "medium"),
    ("steep", None, None, "low"),
    ("chill", None, None, None),
    ("stand", None, None, None),
    ("hold", None, None, None),
    ("rest", None, None, "medium"),
    ("crash", None, None, "high"),
    ("condition", None, None, "low"),
]


@pytest.mark.parametrize(
    ("side", "kind", "share", "hours", "priority"),
    [(Side.WARM, *row) for row in WARM_SIDE] + [(Side.COLD, *row) for row in COLD_SIDE],
)
def test_a_stray_weighs_by_kind_side_and_phase(
    side: Side, kind: str, share: float | None, hours: float | None, priority: str | None
) -> None:
    assert phase_priority(kind, side, share, hours) == priority


def test_a_kind_that_does_not_exist_has_no_priority() -> None:
    with pytest.raises(KeyError):
        phase_priority("nap", Side.WARM, None, None)


def test_a_drift_over_the_limit_raises_and_a_way_back_clears_as_the_stage_says() -> None:
    state = AlarmState(WARM)
    raised_at = cleared_at = None
    for second in range(0, 8000, 10):
        temp_c = 21.0 + second / 2000 if second < 4000 else 23.0 - (second - 4000) / 1000
        now = T0 + timedelta(seconds=second)
        found = band_finding(about(now=now, since=state.since), Side.WARM, temp_c, BAND, Priority.MEDIUM)
        state, changes = step(state, found, now)
        for change in changes:
            raised_at = second if change.event == "raised" else raised_at
            cleared_at = second if change.event == "returned" else cleared_at

    assert raised_at == 1010 + 600
    assert cleared_at == 5800 + 900
    assert "since 14:21" in state.reason
