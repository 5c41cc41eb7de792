"""Strike water, lifting a mash by water and by flame."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.mash import Heating, flame, mash_lift, mash_temp_c, strike
from service.errors import InvalidInputError


@settings(max_examples=80, deadline=None)
@given(
    grain_kg=st.floats(0.5, 10), ratio=st.floats(2.5, 6), grain_c=st.floats(5, 30), mash_c=st.floats(50, 70)
)
def test_strike_water_gives_the_mash_that_was_asked_for(
    grain_kg: float, ratio: float, grain_c: float, mash_c: float
) -> None:
    water_l = grain_kg * ratio

    answer = strike(grain_kg=grain_kg, water_l=water_l, grain_c=grain_c, mash_c=mash_c)

    mixed_c = mash_temp_c(grain_kg=grain_kg, water_l=water_l, grain_c=grain_c, water_c=answer.water_c)
    assert mixed_c == pytest.approx(mash_c, abs=1e-9)
    assert answer.low < answer.water_c < answer.high


@settings(max_examples=60, deadline=None)
@given(grain_c=st.floats(0, 30), colder=st.floats(0.1, 5))
def test_colder_grain_wants_hotter_water(grain_c: float, colder: float) -> None:
    warm = strike(grain_kg=1, water_l=3, grain_c=grain_c, mash_c=66)
    cold = strike(grain_kg=1, water_l=3, grain_c=grain_c - colder, mash_c=66)

    assert cold.water_c > warm.water_c


@settings(max_examples=60, deadline=None)
@given(from_c=st.floats(50, 68), rise=st.floats(0, 8), more=st.floats(0.01, 2))
def test_a_further_lift_takes_more_water_and_balances_its_heat(
    from_c: float, rise: float, more: float
) -> None:
    small = mash_lift(grain_kg=1.2, water_l=4, from_c=from_c, to_c=from_c + rise, hot_c=97)
    large = mash_lift(grain_kg=1.2, water_l=4, from_c=from_c, to_c=from_c + rise + more, hot_c=97)

    assert large.litres > small.litres
    given_kj = small.litres * (97 - from_c - rise)
    assert given_kj == pytest.approx((0.40 * 1.2 + 4) * rise, abs=1e-9)


def test_the_stir_is_asked_for_beside_every_mash_answer() -> None:
    assert "stir before believing" in strike(grain_kg=1, water_l=3, grain_c=20, mash_c=66).working.limits
    lift = mash_lift(grain_kg=1, water_l=3, from_c=62, to_c=66, hot_c=95)
    assert "stir before believing" in lift.working.limits


def test_flame_minutes_scale_with_what_stands_on_the_stove() -> None:
    seen = [Heating(grain_kg=1, water_l=4, minutes=8, rise_c=10)]

    same = flame(grain_kg=1, water_l=4, from_c=60, to_c=65, heatings=seen)
    double = flame(grain_kg=2, water_l=8, from_c=60, to_c=65, heatings=seen)

    assert same.minutes.value == pytest.approx(4.0)
    assert double.minutes.value == pytest.approx(8.0)
    # By hand: 4.4 x 4.18 kJ/K x 10 K in 480 s.
    assert same.heat_w == pytest.approx(4.4 * 4180 * 10 / 480)


def test_more_heatings_of_one_stove_narrow_the_interval() -> None:
    one = flame(grain_kg=1, water_l=4, from_c=60, to_c=65, heatings=[Heating(1, 4, 8, 10)]).minutes
    four = flame(
        grain_kg=1, water_l=4, from_c=60, to_c=65, heatings=[Heating(1, 4, 8, r) for r in (9.8, 10, 10.2, 10)]
    ).minutes

    assert four.high - four.low < one.high - one.low
    assert four.low < 4.0 < four.high


def test_an_erratic_stove_is_less_certain_than_a_steady_one() -> None:
    steady = flame(
        grain_kg=1, water_l=4, from_c=60, to_c=65, heatings=[Heating(1, 4, 8, r) for r in (10, 10, 10)]
    ).minutes
    erratic = flame(
        grain_kg=1, water_l=4, from_c=60, to_c=65, heatings=[Heating(1, 4, 8, r) for r in (7, 10, 13)]
    ).minutes

    assert erratic.high - erratic.low > 2 * (steady.high - steady.low)


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"mash_c": 152.0}, "/mash_c", "Fahrenheit"),
        ({"grain_c": 68.0}, "/grain_c", "Fahrenheit"),
        ({"grain_kg": 1200.0}, "/grain_kg", "grams"),
        ({"water_l": 3000.0}, "/water_l", "millilitres"),
        ({"water_l": 0.5, "mash_c": 75.0}, "/water_l", "would have to be at"),
    ],
)
def test_strike_refuses_what_cannot_be(changed: dict[str, Any], field: str, words: str) -> None:
    asked: dict[str, Any] = {"grain_kg": 1.0, "water_l": 3.0, "grain_c": 20.0, "mash_c": 66.0} | changed

    with pytest.raises(InvalidInputError) as refusal:
        strike(**asked)

    assert refusal.value.problems[0].field == field
    assert words in refusal.value.problems[0].problem


@pytest.mark.parametrize(
    ("changed", "field"),
    [({"to_c": 60.0}, "/to_c"), ({"hot_c": 66.0}, "/hot_c"), ({"from_c": 144.0}, "/from_c")],
)
def test_a_lift_that_cannot_work_is_refused(changed: dict[str, Any], field: str) -> None:
    asked: dict[str, Any] = {"grain_kg": 1.0, "water_l": 3.0, "from_c": 62.0, "to_c": 66.0, "hot_c": 95.0}

    with pytest.raises(InvalidInputError) as refusal:
        mash_lift(**(asked | changed))

    assert refusal.value.problems[0].field == field


def test_a_stove_never_seen_heating_is_not_guessed() -> None:
    with pytest.raises(InvalidInputError, match="not been seen"):
        flame(grain_kg=1, water_l=4, from_c=60, to_c=65, heatings=[])
