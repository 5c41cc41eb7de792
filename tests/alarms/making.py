"""Small makers for the alarms' tests."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from service.alarms.lifecycle import step
from service.alarms.model import AlarmState, Finding, Presence, Priority, Subject, Transition
from service.alarms.rules import About

T0 = datetime(2026, 11, 25, 13, 5, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")
WARM = Subject("above-band", vessel_id="bucket")


def at(seconds: float) -> datetime:
    """So many seconds after the tests' beginning."""
    return T0 + timedelta(seconds=seconds)


def finding(
    presence: Presence,
    subject: Subject = WARM,
    after_s: float | None = None,
    clear_after_s: float | None = None,
    priority: Priority | None = None,
    reason: str = "22.6 C since 14:05, 1.1 C over the band",
) -> Finding:
    return Finding(
        subject,
        presence,
        reason,
        {"now_c": 22.6},
        after_s=after_s,
        clear_after_s=clear_after_s,
        priority=priority,
    )


def run(
    state: AlarmState, presence: Presence, times: Iterable[float], **kwargs: object
) -> tuple[AlarmState, tuple[Transition, ...]]:
    """Step through the seconds given, with the same presence each time."""
    changes: tuple[Transition, ...] = ()
    for seconds in times:
        state, more = step(state, finding(presence, state.subject, **kwargs), at(seconds))  # type: ignore[arg-type]
        changes += more
    return state, changes


def raised(priority: Priority = Priority.MEDIUM, seconds: float = 0.0, subject: Subject = WARM) -> AlarmState:
    """An alarm raised at that second."""
    state, _ = step(
        AlarmState(subject), finding(Presence.PRESENT, subject, after_s=0.0, priority=priority), at(seconds)
    )
    return replace(state, alarm_id=1)


def about(**kwargs: object) -> About:
    """What a rule is told beside its evidence, for a bucket in Berlin."""
    given: dict[str, object] = {
        "now": T0,
        "tz": BERLIN,
        "vessel_id": "bucket",
        "vessel_name": "Bucket",
        "probe_id": "28-00000a1b2c3d",
        "probe_name": "Bucket, thermowell",
    }
    return About(**{**given, **kwargs})  # type: ignore[arg-type]
