import json
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.alarms.model import AlarmState, CoreState, Priority, Subject, state_from_json, to_json
from service.errors import InvalidInputError
from tests.alarms.making import WARM

times = st.none() | st.integers(0, 4_000_000_000_000).map(
    lambda ms: datetime.fromtimestamp(0, UTC) + timedelta(milliseconds=ms)
)
words = st.none() | st.text(max_size=20)
numbers = st.dictionaries(
    st.text(max_size=8), st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=8), max_size=3
)
states = st.builds(
    AlarmState,
    subject=st.builds(Subject, key=st.just("above-band"), vessel_id=words, probe_id=words, other=words),
    alarm_id=st.none() | st.integers(0, 2**53),
    core=st.sampled_from(CoreState),
    pending_since=times,
    clearing_since=times,
    judged_at=times,
    since=times,
    raised_at=times,
    episode_at=times,
    acknowledged_at=times,
    acknowledged_by=words,
    returned_at=times,
    returned_because=words,
    shelved_until=times,
    shelve_reason=words,
    suppressed_by=words,
    suppressed_until=times,
    out_of_service=st.booleans(),
    priority=st.sampled_from(Priority),
    reason=st.text(max_size=20),
    numbers=numbers,
    names=st.dictionaries(st.text(max_size=8), st.text(max_size=8), max_size=2),
    batch_id=words,
    stage=words,
    respond_by=times,
    flaps=st.integers(0, 99),
    episode=st.integers(0, 99),
    instance=st.integers(0, 99),
    shifted_s=st.floats(-1e6, 1e6),
    return_known=st.booleans(),
    first_spoken_at=times,
    return_spoken_at=times,
    last_spoken_at=times,
    spoken_priority=st.none() | st.sampled_from(Priority),
    reminders=st.integers(0, 9),
    next_reminder_at=times,
)


@settings(max_examples=150, deadline=None)
@given(states)
def test_a_memory_survives_its_way_through_json_exactly(state: AlarmState) -> None:
    stored = json.dumps(to_json(state))

    assert state_from_json(json.loads(stored)) == state


def test_a_memory_written_by_another_version_is_read_as_far_as_it_is_known() -> None:
    stored = {"subject": {"key": "above-band", "vessel_id": "bucket"}, "core": "acknowledged", "mood": "good"}

    state = state_from_json(stored)

    assert state == AlarmState(WARM, core=CoreState.ACKNOWLEDGED)


def test_a_stored_time_in_another_zone_is_the_same_moment_in_utc() -> None:
    noon = datetime(2026, 7, 1, 12, tzinfo=timezone(timedelta(hours=2)))

    state = state_from_json({"subject": {"key": "above-band"}, "raised_at": noon.isoformat()})

    assert state.raised_at == noon
    assert state.raised_at is not None
    assert state.raised_at.tzinfo is UTC


@pytest.mark.parametrize(
    ("stored", "field"),
    [
        ({"core": "normal"}, "/subject"),
        ({"subject": {"key": "above-band"}, "core": "sleepy"}, "/core"),
        ({"subject": {"key": "above-band"}, "raised_at": "2026-11-25T14:05:00"}, "/raised_at"),
        ({"subject": {"key": "above-band"}, "raised_at": 12}, "/raised_at"),
        ({"subject": {"key": "above-band"}, "priority": "urgent"}, "/priority"),
        ({"subject": {"colour": "red"}}, "/subject"),
    ],
)
def test_a_memory_that_is_none_is_refused_by_the_name_of_its_member(
    stored: dict[str, object], field: str
) -> None:
    with pytest.raises(InvalidInputError) as refused:
        state_from_json(stored)

    assert refused.value.problems[0].field == field


def test_priorities_compare_by_rank() -> None:
    assert [p.rank for p in (Priority.LOW, Priority.MEDIUM, Priority.HIGH)] == [0, 1, 2]
