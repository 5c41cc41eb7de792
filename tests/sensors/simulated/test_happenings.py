"""What is done to a fermenter on the way shows in its temperatures."""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from statistics import fmean as mean

import pytest

from sensors.simulated.happenings import DoorOpened, Fridge, Happening, HeatPad, Lagging, Move, WetCloth
from sensors.simulated.kitchen import Kitchen
from sensors.simulated.scenario import Beer, Vessel
from sensors.simulated.tip import Tip, Where
from tests.sensors.simulated.twins import START, STILL_ROOM, fermenter, moments, still

WARM_WATER = Beer("Warm water", litres=5.0, og=1.0, pitched_c=18.0)


def settled(*happenings: Happening) -> float:
    """Where water in an 18 C room ends up."""
    scenario = replace(still(WARM_WATER), happenings=happenings)
    return Kitchen(scenario, 1).at(START + timedelta(days=10)).beer_c


def test_a_pad_without_a_thermostat_warms_by_its_watts_over_the_loss() -> None:
    vessel = still().vessel
    # Heat goes into the wall: what reaches the beer comes back through the floor only.
    through_floor = 1.0 / (1.0 / vessel.inner_w_per_k + 1.0 / vessel.floor_w_per_k)

    wall_rise = 5.0 / (vessel.outer_w_per_k + through_floor)

    expected = 18.0 + wall_rise * vessel.inner_w_per_k / (vessel.inner_w_per_k + vessel.floor_w_per_k)
    assert settled(HeatPad(at_h=0.0, watts=5.0)) == pytest.approx(expected, abs=0.05)


def test_a_pad_ends_when_it_is_told_to() -> None:
    assert settled(HeatPad(at_h=0.0, watts=5.0, lasts_h=24.0)) == pytest.approx(18.0, abs=0.01)


def test_a_wet_cloth_cools_towards_its_chill() -> None:
    bare, wrapped = settled(), settled(WetCloth(at_h=0.0, below_c=2.5))

    assert bare == pytest.approx(18.0, abs=0.01)
    assert 15.5 < wrapped < 16.1


def test_lagging_keeps_the_heat_of_a_pad_in() -> None:
    pad = HeatPad(at_h=0.0, watts=5.0)

    assert settled(pad, Lagging(at_h=0.0, times=0.5)) - 18.0 > 1.6 * (settled(pad) - 18.0)


def test_a_move_takes_the_vessel_to_the_air_of_the_other_room() -> None:
    rooms = {"room": STILL_ROOM, "hall": replace(STILL_ROOM, mean_c=14.0)}
    kitchen = Kitchen(replace(still(WARM_WATER), rooms=rooms, happenings=(Move(24.0, "hall"),)), 1)

    before, at_once, after = (kitchen.at(START + timedelta(hours=h)) for h in (23.9, 24.0, 200.0))

    assert before.air_c == pytest.approx(18.0)
    assert at_once.air_c == pytest.approx(14.0)
    assert at_once.beer_c == pytest.approx(18.0, abs=0.01)
    assert after.beer_c == pytest.approx(14.0, abs=0.01)


def test_what_happens_later_counts_whatever_the_order_in_the_file() -> None:
    rooms = {
        name: replace(STILL_ROOM, mean_c=c) for name, c in (("room", 18.0), ("hall", 14.0), ("attic", 22.0))
    }
    moves = (Move(48.0, "attic"), Move(24.0, "hall"))
    kitchen = Kitchen(replace(still(WARM_WATER), rooms=rooms, happenings=moves), 1)

    airs = [kitchen.at(START + timedelta(hours=hour)).air_c for hour in (12, 36, 60)]

    assert airs == pytest.approx([18.0, 14.0, 22.0])


def test_a_door_opened_elsewhere_is_not_felt() -> None:
    rooms = {"room": STILL_ROOM, "hall": STILL_ROOM}
    door = DoorOpened(at_h=1.0, room="hall", drop_c=5.0)

    kitchen = Kitchen(replace(still(WARM_WATER), rooms=rooms, happenings=(door,)), 1)

    assert kitchen.at(START + timedelta(hours=1)).air_c == pytest.approx(18.0)


def test_a_wet_cloth_passes_more_heat() -> None:
    cloth = WetCloth(at_h=0.0, times=3.0, below_c=0.0)
    bare, wrapped = (
        Kitchen(replace(still(), happenings=happenings), 1).at(START + timedelta(hours=4)).beer_c
        for happenings in ((), (cloth,))
    )

    assert wrapped - 18.0 < 0.7 * (bare - 18.0)


def test_in_a_fridge_the_vessel_stands_in_its_air_from_all_sides() -> None:
    fridge = Fridge(at_h=0.0, on_above_c=5.0, off_below_c=3.0)
    through_floor = Vessel(outer_w_per_k=0.01, floor_w_per_k=3.0)

    kitchen = Kitchen(replace(still(WARM_WATER, through_floor), happenings=(fridge,)), 1)

    assert kitchen.at(START + timedelta(hours=12)).beer_c < 7.0


def test_a_wet_cloth_cools_in_a_fridge_that_is_off_too() -> None:
    off = Fridge(at_h=0.0, on_above_c=5.0, off_below_c=3.0, watts=0.0)

    assert settled(off) == pytest.approx(18.0, abs=0.01)
    assert settled(off, WetCloth(at_h=0.0)) < 17.0


def test_a_heat_pad_with_a_thermostat_holds_cold_beer_and_cycles() -> None:
    seen = moments(fermenter("heat-pad"), 24, 10 * 24, every_min=5)

    switched = sum(a.pad_w != b.pad_w for a, b in pairwise(seen))

    assert all(18.6 < m.beer_c < 19.7 for m in seen)
    assert mean(m.air_c for m in seen) < 13.0
    assert switched > 50


def test_a_fridge_cycles_about_its_limits_and_then_crashes_the_beer() -> None:
    fridge = fermenter("fridge-crash")

    held, crashed, out = (
        moments(fridge, 12, 192),
        moments(fridge, 240, 264),
        fridge.at(fridge.starts + timedelta(hours=330)),
    )

    assert all(14.0 < m.air_c < 19.0 for m in held)
    assert 10 < sum(a.fridge_w < b.fridge_w for a, b in pairwise(held)) < 400
    assert all(16.5 < m.beer_c < 18.5 for m in held)
    assert all(0.5 < m.beer_c < 4.0 for m in crashed)
    assert out.beer_c > 15.0
    assert out.fridge_w == 0.0


def test_a_wet_cloth_takes_hot_beer_below_the_air() -> None:
    kitchen = fermenter("wet-cloth")

    before, during, after = moments(kitchen, 6, 30), moments(kitchen, 45, 66), moments(kitchen, 90, 120)

    assert mean(m.beer_c - m.air_c for m in before) > 0.5
    assert mean(m.beer_c - m.air_c for m in during) < -1.5
    assert mean(m.beer_c - m.air_c for m in after) > -0.5


def test_a_probe_that_falls_off_follows_the_room_within_minutes_and_the_beer_again_when_taped_on() -> None:
    kitchen = fermenter("fallen-off")

    on, fallen, on_again = (kitchen.at(kitchen.starts + timedelta(hours=hour)) for hour in (39.9, 40.5, 51.0))

    assert on.beer_c - on.air_c > 2.0
    assert abs(on.probe_c - on.wall_c) < 0.15
    assert abs(fallen.probe_c - fallen.air_c) < 0.1
    assert abs(on_again.probe_c - on_again.wall_c) < 0.15


def test_quiet_beer_on_a_cold_floor_lies_in_layers_and_gas_stirs_working_beer() -> None:
    quiet = fermenter("quiet-cellar")
    beer = replace(quiet.scenario.beer, attenuation=0.75)
    working = Kitchen(replace(quiet.scenario, beer=beer), seed=1)

    at_rest, at_work = (k.at(k.starts + timedelta(hours=36)) for k in (quiet, working))

    assert at_rest.top_c - at_rest.bottom_c > 0.3
    assert at_work.heat_w > 1.0
    assert 0.0 < at_work.top_c - at_work.bottom_c < 0.05


def test_cold_beer_that_a_floor_warms_from_below_turns_over() -> None:
    vessel = Vessel(outer_w_per_k=0.2, floor_w_per_k=3.0, calm_w_per_k=0.5)
    kitchen = Kitchen(still(replace(WARM_WATER, pitched_c=5.0), vessel), seed=1)

    seen = moments(kitchen, 1, 12, every_min=10)

    assert all(abs(m.top_c - m.bottom_c) < 0.4 for m in seen)


def test_a_probe_on_the_wall_feels_its_share_of_the_air() -> None:
    scenario = replace(still(), probe=Tip(Where.WALL, lag_s=0.0, air_share=0.25))

    moment = Kitchen(scenario, seed=1).at(START + timedelta(hours=1))

    assert moment.wall_c - moment.air_c > 5.0
    assert moment.probe_c == pytest.approx(0.75 * moment.wall_c + 0.25 * moment.air_c)


def test_each_probe_shows_its_own_error() -> None:
    scenario = replace(
        still(WARM_WATER),
        probe=Tip(Where.MIDDLE, lag_s=0.0, offset_c=0.4),
        room_probe=Tip(Where.AIR, lag_s=0.0, offset_c=-0.3),
    )

    moment = Kitchen(scenario, seed=1).at(START + timedelta(hours=1))

    assert moment.probe_c == pytest.approx(moment.beer_c + 0.4)
    assert moment.room_probe_c == pytest.approx(moment.air_c - 0.3)


def test_a_stopped_fermentation_stays_where_it_stopped() -> None:
    kitchen = fermenter("stopped")

    late, later = (kitchen.at(kitchen.starts + timedelta(days=d)) for d in (5, 10))

    assert late.share == pytest.approx(0.6, abs=0.01)
    assert later.gravity == pytest.approx(late.gravity, abs=2e-4)
    assert later.heat_w == pytest.approx(0.0, abs=1e-3)


def test_added_sugar_wakes_the_fermentation() -> None:
    kitchen = fermenter("sugar-added")

    before, after = (kitchen.at(kitchen.starts + timedelta(hours=h)) for h in (119.9, 121))

    assert after.gravity - before.gravity > 0.008
    assert after.heat_w > 5 * before.heat_w
