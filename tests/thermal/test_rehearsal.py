"""A plan rehearsed: strays, what cannot be reached, and what would help."""

import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from service.thermal.brewdays import brew_days, seasons
from service.thermal.rehearsal import PlannedStage, Room, Setting, rehearse

START = datetime(2026, 6, 1, 18, tzinfo=UTC)
PRIMARY = PlannedStage("primary", 0, 240, (19.0, 19.0), low_c=-2.0, high_c=2.0, relative=True)
SETTING = Setting((PRIMARY,), 20.0, 1.050, 19.0, Room(19.0, 1.0), START, 18.0)


def kinds(setting: Setting) -> dict[str, float | None]:
    return {a.kind: a.value for a in rehearse(setting).advice}


def test_twenty_litres_stray_warm_by_their_own_heat() -> None:
    course = rehearse(SETTING)

    assert [s.side for s in course.strays][:1] == ["warm"]
    assert 21.0 < course.strays[0].worst_c < 27.0
    assert course.warmest_at is not None
    assert START < course.warmest_at < START + timedelta(days=4)


def test_five_litres_stay_in_band() -> None:
    course = rehearse(replace(SETTING, volume_l=5.0, room=Room(18.0, 0.5)))

    assert course.strays == ()
    assert course.advice == ()


def test_the_advised_place_ends_the_stray() -> None:
    place = kinds(SETTING)["surroundings_c"]

    assert place is not None
    assert rehearse(replace(SETTING, room=Room(place - 0.1, 1.0))).strays == ()
    assert rehearse(replace(SETTING, room=Room(place + 1.0, 1.0))).strays != ()


def test_the_advised_pitch_temperature_ends_the_stray() -> None:
    setting = replace(SETTING, pitch_c=22.5, volume_l=10.0, room=Room(17.0))
    pitch = kinds(setting)["pitch_c"]

    assert pitch is not None
    assert pitch < 21.1
    assert rehearse(replace(setting, pitch_c=pitch - 0.1)).strays == ()


def test_ice_is_advised_with_its_mass() -> None:
    kg = kinds(SETTING)["ice_kg_per_day"]

    assert kg is not None
    assert 0.1 < kg < 8


def test_a_lager_in_a_kitchen_cannot_be_reached() -> None:
    cold = PlannedStage("primary", 0, 240, (10.0, 10.0), low_c=-1.5, high_c=1.5, relative=True)

    course = rehearse(replace(SETTING, stages=(cold,)))

    assert course.unreachable[0][0] == "primary"
    assert "colder place" in course.unreachable[0][1]


def test_a_warm_ale_in_a_cellar_is_too_cold() -> None:
    course = rehearse(replace(SETTING, volume_l=5.0, room=Room(11.0), pitch_c=14.0))

    assert course.strays[0].side == "cold"
    assert any("warmer" in a.sentence for a in course.advice)


def test_the_target_moves_along_its_ramp() -> None:
    ramp = PlannedStage("primary", 10, 100, (18.0, 20.0), over_h=20, low_c=-1, high_c=1, relative=True)

    assert [ramp.target_at(h) for h in (10, 20, 30, 90)] == [18.0, 19.0, 20.0, 20.0]
    assert ramp.band_at(20) == (18.0, 20.0)
    assert PlannedStage("hold", 0, 5, None).band_at(1) == (None, None)


def test_nothing_ferments_before_its_stage() -> None:
    steep = PlannedStage("steep", 0, 48, None, fermenting=False)
    later = replace(PRIMARY, from_h=48, to_h=240)
    setting = replace(SETTING, stages=(steep, later), room=Room(19.0))

    course = rehearse(setting)

    before = [p.temp_c for p in course.points if p.stage == "steep"]
    assert max(before) == pytest.approx(19.0, abs=0.01)
    assert max(p.temp_c for p in course.points) > 20.5


def test_a_given_trace_is_followed_and_its_last_day_repeats() -> None:
    trace = tuple(16.0 + (k % 24) / 12 for k in range(48))
    room = Room(0.0, trace_c=trace)

    assert room.at(5.5, 0) == pytest.approx(16.0 + 5.5 / 12)
    assert room.at(24 * 5 + 7, 0) == pytest.approx(room.at(24 * 6 + 7, 0))


def test_the_interval_holds_the_course_and_an_empty_plan_gives_nothing() -> None:
    assert all(p.low90_c < p.temp_c < p.high90_c for p in rehearse(SETTING).points)
    assert rehearse(replace(SETTING, stages=())).points == ()


def test_thirty_days_take_well_under_a_second() -> None:
    long = replace(SETTING, stages=(replace(PRIMARY, to_h=720),))
    begun = time.process_time()

    rehearse(long)

    assert time.process_time() - begun < 1.0


def test_summer_strays_warm_and_winter_cold() -> None:
    by = dict(seasons(SETTING, [("winter", 16.0), ("summer", 24.0)]))

    assert {x.side for x in by["summer"].strays} == {"warm"}
    assert "cold" in {x.side for x in by["winter"].strays}


def test_brew_days_keep_hands_out_of_the_days_away() -> None:
    wanted = datetime(2026, 7, 1, 12, tzinfo=UTC)
    away = [(datetime(2026, 6, 14, tzinfo=UTC), datetime(2026, 6, 18, tzinfo=UTC))]

    days = brew_days(wanted, (0, 240), 480, away, wanted - timedelta(days=30))

    assert days[0] == wanted - timedelta(hours=480)
    assert all(not (away[0][0] <= d + timedelta(hours=h) <= away[0][1]) for d in days for h in (0, 240))
    # Brewed on the 4th to the 7th, the tenth day would fall into the days away.
    assert [d.day for d in days] == [11, 10, 9, 8, 3, 2, 1]
