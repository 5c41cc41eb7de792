"""The kitchen as a whole: the same answers always, day and night, and a fermentation that adds up."""

import random
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sensors.simulated.kitchen import Kitchen
from sensors.simulated.scenario import Room, Vessel
from tests.sensors.simulated.twins import BROWN, CALM_WEATHER, START, lively, moments, still


@settings(max_examples=12, deadline=None)
@given(st.lists(st.floats(0.0, 86400.0), min_size=2, max_size=8), st.randoms(use_true_random=False))
def test_the_order_of_questions_changes_no_answer(seconds: list[float], order: random.Random) -> None:
    times = [START + timedelta(seconds=s) for s in seconds]
    one, other = Kitchen(lively(), seed=7), Kitchen(lively(), seed=7)
    shuffled = order.sample(times, len(times))

    first = {t: one.at(t) for t in times}
    second = {t: other.at(t) for t in shuffled}

    assert first == second
    assert first == {t: one.at(t) for t in shuffled}


def test_between_the_minutes_it_is_a_straight_line() -> None:
    kitchen = Kitchen(still(), seed=1)

    now, between, later = (kitchen.at(START + timedelta(seconds=s)) for s in (600, 615, 660))

    assert now.beer_c > later.beer_c
    assert between.beer_c == pytest.approx(0.75 * now.beer_c + 0.25 * later.beer_c, abs=1e-12)


def test_another_seed_is_another_kitchen() -> None:
    at = START + timedelta(hours=30)

    assert Kitchen(lively(), seed=1).at(at).air_c != Kitchen(lively(), seed=2).at(at).air_c


def test_it_refuses_a_time_before_the_start_or_without_a_zone() -> None:
    kitchen = Kitchen(lively(), seed=1)

    with pytest.raises(ValueError, match="earlier"):
        kitchen.at(START - timedelta(seconds=1))
    with pytest.raises(ValueError, match="no time zone"):
        kitchen.at(datetime(2026, 3, 3, 12, 0))  # noqa: DTZ001


def test_air_is_warmest_at_its_hour_and_coldest_half_a_day_later() -> None:
    room = Room(mean_c=18.0, swing_c=0.8, warmest_h=16.0)
    scenario = replace(still(), rooms={"room": room}, weather=CALM_WEATHER)

    seen = moments(Kitchen(scenario, seed=1), 0, 48)
    warmest = max(seen, key=lambda m: m.air_c)
    coldest = min(seen, key=lambda m: m.air_c)

    assert (warmest.at.hour, coldest.at.hour) == (16, 4)
    assert warmest.air_c == pytest.approx(18.8)
    assert coldest.air_c == pytest.approx(17.2)


def test_heat_over_a_batch_is_extract_fermented_times_the_heat_of_fermentation() -> None:
    # 586 kJ per kg of real extract (24 kcal/mol hexose in a review of wine fermentation, +/-10 %).
    # 5 litres from 1.045 to 1.010 ferment 0.377 kg of extract (computed by Balling's relation).
    kitchen = Kitchen(still(BROWN, room_c=22.0), seed=1)

    seen = moments(kitchen, 0, 600)
    joules = sum(moment.heat_w for moment in seen[:-1]) * 60.0

    assert seen[-1].gravity == pytest.approx(1.010, abs=1e-4)
    assert joules / 1000.0 == pytest.approx(0.377 * 586.0, rel=0.003)


def test_the_heat_warms_beer_that_cannot_lose_it_by_the_adiabatic_rise() -> None:
    # 221 kJ into 5.216 kg at 3.95 kJ/(kg K) is 10.7 K (computed).
    kept = Vessel(wall_kj_per_k=0.001, outer_w_per_k=0.0, floor_w_per_k=0.0)

    after = Kitchen(still(BROWN, kept), seed=1).at(START + timedelta(days=25))

    assert after.beer_c - BROWN.pitched_c == pytest.approx(10.7, abs=0.05)


def test_gravity_never_rises_and_share_never_falls() -> None:
    seen = moments(Kitchen(lively(), seed=3), 0, 240)

    pairs = list(pairwise(seen))

    assert all(later.gravity <= now.gravity and later.share >= now.share for now, later in pairs)
    assert seen[0].gravity == pytest.approx(BROWN.og, abs=1e-5)
    assert 0.9 < seen[-1].share <= 1.0


def test_nothing_ferments_in_the_lag_and_warmth_shortens_it() -> None:
    slow = replace(BROWN, lag_h=12.0)
    cool = Kitchen(still(replace(slow, pitched_c=16.0), room_c=16.0), seed=1)
    warm = Kitchen(still(replace(slow, pitched_c=22.0), room_c=22.0), seed=1)
    without = Kitchen(still(replace(slow, lag_h=0.0)), seed=1)

    at = START + timedelta(hours=6)

    assert cool.at(at).share < 0.005
    assert warm.at(at).share > cool.at(at).share
    assert without.at(at).share > 0.05


def test_a_bucket_of_five_litres_warms_itself_by_a_degree_or_so() -> None:
    # An estimate for bare 5 litre buckets: 1 to 2 C above the room at the peak.
    seen = moments(Kitchen(still(BROWN, room_c=19.0), seed=1), 0, 120)

    excess = max(moment.beer_c - moment.air_c for moment in seen)

    assert 0.7 < excess < 2.0


@pytest.mark.parametrize("pitched_c, says", [(9.0, False), (16.0, False), (19.0, True), (2.0, True)])
def test_it_says_when_its_fermentation_is_extrapolated(pitched_c: float, says: bool) -> None:
    notes = Kitchen(still(replace(BROWN, pitched_c=pitched_c)), seed=1).notes

    assert bool(notes) is says
    assert all("extrapolated" in note and f"{pitched_c:g} C" in note for note in notes)
