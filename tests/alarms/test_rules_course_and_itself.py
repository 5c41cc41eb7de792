from collections.abc import Callable

import pytest

from service.alarms.lifecycle import acknowledge, step
from service.alarms.model import AlarmState, CoreState, Finding, Presence, Subject
from service.alarms.rules import (
    About,
    Heading,
    Side,
    backup_old,
    channel_failing,
    clock_untrusted,
    disk_low,
    disturbed,
    heading_out,
    not_started,
    record_damaged,
    sample_due,
    stage_due,
    stage_overdue,
    stopped_early,
    was_down,
)
from tests.alarms.making import about, at

PRESENT, NEAR, ABSENT, UNKNOWN = Presence.PRESENT, Presence.NEAR, Presence.ABSENT, Presence.UNKNOWN


@pytest.mark.parametrize(
    ("heading", "presence"),
    [
        (None, UNKNOWN),
        (Heading(None), ABSENT),
        (Heading(at(11 * 3600)), PRESENT),
        (Heading(at(13 * 3600)), ABSENT),
    ],
)
def test_the_forecast_warns_within_its_look_ahead(heading: Heading | None, presence: Presence) -> None:
    assert heading_out(about(), heading).presence is presence


def test_the_forecasts_own_advice_goes_before_the_catalogues() -> None:
    found = heading_out(about(), Heading(at(7200), Side.COLD, 18.5, "Lift it off the floor."))

    assert found.reason == "too cold from about 16:05, by the forecast"
    assert found.advice == "Lift it off the floor."


@pytest.mark.parametrize("rule", [not_started, stopped_early, sample_due, disturbed])
@pytest.mark.parametrize(("verdict", "presence"), [(True, PRESENT), (False, ABSENT), (None, UNKNOWN)])
def test_the_estimates_verdicts_are_taken_as_they_are(
    rule: Callable[[About, bool | None, str], Finding], verdict: bool | None, presence: Presence
) -> None:
    found = rule(about(), verdict, "no heat since Tuesday")

    assert found.presence is presence
    assert found.reason == "no heat since Tuesday"
    assert found.subject.key == rule.__name__.replace("_", "-")


@pytest.mark.parametrize("rule", [stage_due, stage_overdue])
@pytest.mark.parametrize(("due_s", "presence"), [(0, PRESENT), (-60, PRESENT), (1, ABSENT), (None, ABSENT)])
def test_a_stage_is_due_from_its_time_on(
    rule: Callable[..., Finding], due_s: int | None, presence: Presence
) -> None:
    found = rule(about(other="primary/0"), None if due_s is None else at(due_s), "Dry hops")

    assert found.presence is presence
    assert found.subject == Subject(rule.__name__.replace("_", "-"), "bucket", other="primary/0")


def test_a_due_stage_says_what_it_asks() -> None:
    assert stage_due(about(), at(-300), "Dry hops").reason == "Dry hops (since 14:00)"


@pytest.mark.parametrize(
    ("down_s", "sweep_s", "presence"),
    [
        (299.0, 10.0, UNKNOWN),
        (300.0, 10.0, PRESENT),
        (300.0, 150.0, UNKNOWN),
        (450.0, 150.0, PRESENT),
        (None, 10.0, UNKNOWN),
    ],
)
def test_the_watch_was_down_after_five_minutes_and_three_sweeps(
    down_s: float | None, sweep_s: float, presence: Presence
) -> None:
    assert was_down(about(), down_s, sweep_s, seen=False).presence is presence


def test_having_been_down_stands_through_restarts_until_somebody_has_seen_it() -> None:
    state = AlarmState(Subject("was-down"))
    state, _ = step(state, was_down(about(), 7200.0, 10.0, seen=False), at(0))
    state, _ = step(state, was_down(about(), 20.0, 10.0, seen=False), at(3600))
    unseen = state.core
    state, _ = acknowledge(state, "Ana", "", at(3700))
    state, _ = step(state, was_down(about(), 20.0, 10.0, seen=True), at(3710))

    assert unseen is CoreState.UNACKNOWLEDGED
    assert state.core is CoreState.NORMAL


def test_it_says_how_long_and_what_the_beer_did_meanwhile() -> None:
    found = was_down(about(), 12_000.0, 10.0, seen=False, meanwhile="Bucket 19.8 C to 20.4 C (modelled)")

    assert found.reason == "nobody watched for 3 h 20 min; Bucket 19.8 C to 20.4 C (modelled)"


@pytest.mark.parametrize(
    ("set_aside", "seen", "presence"),
    [("gylewatch.damaged.db", False, PRESENT), (None, False, UNKNOWN), ("x.db", True, ABSENT)],
)
def test_a_damaged_record_stands_until_seen(set_aside: str | None, seen: bool, presence: Presence) -> None:
    assert record_damaged(about(), set_aside, seen=seen).presence is presence


@pytest.mark.parametrize(("untrusted", "presence"), [(True, PRESENT), (False, ABSENT), (None, UNKNOWN)])
def test_the_clock_rule_is_taken_as_it_is(untrusted: bool | None, presence: Presence) -> None:
    assert clock_untrusted(about(), untrusted, "it is behind the record").presence is presence


@pytest.mark.parametrize(
    ("free", "presence"),
    [(499_999_999, PRESENT), (500_000_000, NEAR), (600_000_000, ABSENT), (None, UNKNOWN)],
)
def test_little_room_is_said(free: int | None, presence: Presence) -> None:
    assert disk_low(about(), free).presence is presence


@pytest.mark.parametrize(
    ("newest_s", "kept_s", "failure", "presence", "reason"),
    [
        (3 * 86_400.0, None, "", PRESENT, "the newest backup is 3 days old"),
        (3 * 86_400.0 - 1, None, "", ABSENT, "the newest backup is recent"),
        (None, 3 * 86_400.0, "", PRESENT, "there is no backup after 3 days"),
        (None, 3600.0, "", ABSENT, "the newest backup is recent"),
        (None, None, "", UNKNOWN, "nothing is known of backups"),
        (60.0, None, "no room", PRESENT, "the last backup failed: no room"),
    ],
)
def test_backups_are_asked_for(
    newest_s: float | None, kept_s: float | None, failure: str, presence: Presence, reason: str
) -> None:
    found = backup_old(about(), newest_s, kept_s, failure)

    assert (found.presence, found.reason) == (presence, reason)


@pytest.mark.parametrize(("stuck_s", "presence"), [(3599.0, ABSENT), (3600.0, PRESENT), (None, ABSENT)])
def test_a_channel_fails_when_nothing_left_it_for_an_hour(stuck_s: float | None, presence: Presence) -> None:
    found = channel_failing(about(vessel_id=None, other="phone"), stuck_s, "503 Service Unavailable")

    assert found.presence is presence
    assert found.subject == Subject("channel-failing", other="phone")
    if presence is PRESENT:
        assert found.reason == "nothing could leave for 1 h: 503 Service Unavailable"
