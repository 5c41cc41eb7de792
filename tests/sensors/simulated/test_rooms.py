"""The air of a room: what moves it must show, and nothing else."""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from math import exp, pi, sqrt
from statistics import fmean as mean

import pytest

from sensors.simulated.happenings import DoorOpened
from sensors.simulated.kitchen import Kitchen
from sensors.simulated.rooms import Indoors, Outside
from sensors.simulated.scenario import Doors, Heating, Room, Weather
from tests.sensors.simulated.twins import CALM_WEATHER, START, STILL_ROOM, moments, still


def kitchen(
    room: Room, weather: Weather = CALM_WEATHER, seed: int = 1, door: DoorOpened | None = None
) -> Kitchen:
    happenings = (door,) if door else ()
    scenario = replace(still(), rooms={"room": room}, weather=weather, happenings=happenings)
    return Kitchen(scenario, seed)


def deviation(values: list[float]) -> float:
    middle = mean(values)
    return sqrt(mean((value - middle) ** 2 for value in values))


def test_the_heating_lifts_the_air_by_day_and_cycles_while_it_does() -> None:
    heating = Heating(on_h=6.0, off_h=22.0, lift_c=2.0, ripple_c=0.3, period_min=40.0)

    seen = moments(kitchen(replace(STILL_ROOM, heating=heating)), 0, 72)

    day = [m.air_c for m in seen[24 * 60 :] if 12 <= m.at.hour < 20]
    night = [m.air_c for m in seen[24 * 60 :] if 3 <= m.at.hour < 5]
    assert mean(day) == pytest.approx(20.0, abs=0.05)
    assert mean(night) == pytest.approx(18.0, abs=0.05)
    assert max(day) - min(day) == pytest.approx(0.6, abs=0.03)
    turns = sum((b > a) != (c > b) for (a, b), (_, c) in pairwise(pairwise(day)))
    assert turns == pytest.approx(2 * 2 * 8 * 60 / 40, abs=3)
    assert max(night) - min(night) < 0.2


def test_the_heating_fades_over_an_hour_and_is_warm_from_the_start_when_begun_by_day() -> None:
    heating = Heating(on_h=6.0, off_h=22.0, lift_c=2.0, ripple_c=0.0)
    heated = kitchen(replace(STILL_ROOM, heating=heating))

    at_first, an_hour_off = (heated.at(START + timedelta(hours=h)).air_c for h in (0, 5))

    assert at_first == pytest.approx(20.0)
    assert an_hour_off == pytest.approx(18.0 + 2.0 * exp(-1.0), abs=0.02)


def test_walls_and_floor_follow_the_air_as_first_order_bodies_do() -> None:
    # A first-order body of time constant T follows a daily swing by 1/sqrt(1 + (2 pi T/24)^2).
    room = Room(mean_c=18.0, swing_c=3.0, walls_h=6.0, floor_h=30.0, floor_below_c=0.0)
    indoors = Indoors("room", room, 1, START, step_s=60.0)

    seen = [indoors.around(minute, 0.0) for minute in range(20 * 1440)][-1440:]

    for temps, hours in (([s.walls_c for s in seen], 6.0), ([s.floor_c for s in seen], 30.0)):
        expected = 3.0 / sqrt(1.0 + (2.0 * pi * hours / 24.0) ** 2)
        assert (max(temps) - min(temps)) / 2 == pytest.approx(expected, rel=0.02)


def test_an_opened_door_lets_the_air_fall_and_recover() -> None:
    door = DoorOpened(at_h=5.0, room="room", drop_c=3.0, recover_min=10.0)
    open_kitchen = kitchen(STILL_ROOM, door=door)

    before, at_once, later, long_after = (
        open_kitchen.at(START + timedelta(hours=5, minutes=minutes)).air_c for minutes in (-2, 0, 10, 120)
    )

    assert before == pytest.approx(18.0)
    assert at_once == pytest.approx(15.0)
    assert later == pytest.approx(18.0 - 3.0 / 2.71828, abs=0.01)
    assert long_after == pytest.approx(18.0, abs=1e-3)


def test_doors_open_about_as_often_as_they_should() -> None:
    room = replace(STILL_ROOM, doors=Doors(per_day=10.0, drop_c=1.0, recover_min=5.0))

    seen = moments(kitchen(room), 0, 10 * 24)

    opened = sum(later.air_c < now.air_c - 0.3 for now, later in pairwise(seen))
    assert 70 <= opened <= 130


def test_weather_comes_in_by_the_rooms_share_and_lasts_about_as_long_as_its_fronts() -> None:
    weather = Weather(mean_c=5.0, swing_c=0.0, fronts_c=3.0, fronts_h=24.0)
    leaky, tight = replace(STILL_ROOM, outdoors=0.5), replace(STILL_ROOM, outdoors=0.05)

    outside = Outside(weather, 1, START, step_s=3600.0)
    departures = [outside.departure_c(hour) for hour in range(120 * 24)]
    airs, tight_airs = (
        [Indoors("room", room, 1, START, 3600.0).around(hour, c).air_c for hour, c in enumerate(departures)]
        for room in (leaky, tight)
    )

    assert deviation(airs) == pytest.approx(1.5, rel=0.35)
    assert deviation(tight_airs) == pytest.approx(deviation(airs) / 10, rel=1e-6)
    middle = mean(airs)
    centred = [air - middle for air in airs]
    a_day_on = mean(a * b for a, b in zip(centred, centred[24:], strict=False)) / deviation(airs) ** 2
    assert 0.1 < a_day_on < 0.6


def test_walls_follow_the_air_and_hold_the_beer_back() -> None:
    swinging = Room(mean_c=18.0, swing_c=3.0, walls_h=12.0)
    scenario = replace(still(), rooms={"room": swinging})
    feels_air = Kitchen(replace(scenario, vessel=replace(scenario.vessel, walls_share=0.0)), 1)
    feels_walls = Kitchen(replace(scenario, vessel=replace(scenario.vessel, walls_share=1.0)), 1)

    swings = [
        max(m.beer_c for m in seen) - min(m.beer_c for m in seen)
        for seen in (moments(k, 72, 96, every_min=10) for k in (feels_air, feels_walls))
    ]

    assert swings[1] < 0.6 * swings[0]
