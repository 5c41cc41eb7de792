"""Scenarios that the tests of the twin share."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sensors.simulated.kitchen import Kitchen
from sensors.simulated.moment import Moment, Twin
from sensors.simulated.reading import load_scenario
from sensors.simulated.scenario import Beer, Doors, Heating, Room, Scenario, Vessel, Weather
from sensors.simulated.tip import Tip, Where

START = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
CALM_WEATHER = Weather(swing_c=0.0, fronts_c=0.0)
STILL_ROOM = Room(mean_c=18.0, swing_c=0.0, floor_below_c=0.0)
WATER = Beer("Plain water", litres=5.0, og=1.0, pitched_c=25.0)
BROWN = Beer("Brown of no place", litres=5.0, og=1.045, pitched_c=19.0, attenuation=0.778, lag_h=6.0)


def still(beer: Beer = WATER, vessel: Vessel = Vessel(), room_c: float = 18.0) -> Scenario:  # noqa: B008
    """A room at one temperature for ever."""
    return Scenario(
        name="Still room",
        starts=START,
        rooms={"room": replace(STILL_ROOM, mean_c=room_c)},
        place="room",
        beer=beer,
        vessel=vessel,
        weather=CALM_WEATHER,
        probe=Tip(Where.MIDDLE, lag_s=0.0),
        room_probe=Tip(Where.AIR, lag_s=0.0),
    )


def lively() -> Scenario:
    """A kitchen with weather, heating and doors."""
    room = Room(
        mean_c=18.0, outdoors=0.2, heating=Heating(on_h=6, off_h=22), doors=Doors(per_day=12, drop_c=1.5)
    )
    return Scenario("Lively kitchen", START, {"kitchen": room}, "kitchen", BROWN)


SCENARIOS = Path(__file__).parent / "scenarios"


def fermenter(name: str, seed: int = 1) -> Kitchen:
    """The twin of one of the fermenters that ship with the tests."""
    scenario = load_scenario(SCENARIOS / f"{name}.json")
    assert isinstance(scenario, Scenario)
    return Kitchen(scenario, seed)


def moments(twin: Twin, from_h: float, to_h: float, every_min: float = 1.0) -> list[Moment]:
    """The moments of a span of hours after the start, both ends included."""
    count = round((to_h - from_h) * 60 / every_min)
    begins = twin.starts + timedelta(hours=from_h)
    return [twin.at(begins + timedelta(minutes=every_min * number)) for number in range(count + 1)]
