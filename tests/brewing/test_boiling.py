"""Boiling, boil-off and shrinkage."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.boiling import boil, boiling_point, learned_boil_off_l_per_h
from service.brewing.sucrose import density_from_sg, plato_from_sg
from service.errors import InvalidInputError


def test_no_extract_is_lost_in_the_boil() -> None:
    before = boil(hot_l=7, sg=1.040, minutes=0.1, boil_off_l_per_h=0)
    after = boil(hot_l=7, sg=1.040, minutes=60, boil_off_l_per_h=1.5)

    def extract_kg(cold_l: float, sg: float) -> float:
        return cold_l * density_from_sg(sg) / 1000 * plato_from_sg(sg) / 100

    assert before.sg == pytest.approx(1.040, abs=1e-6)
    assert extract_kg(after.cold_l, after.sg) == pytest.approx(extract_kg(before.cold_l, before.sg), rel=1e-6)
    assert after.sg > 1.048
    assert after.hot_l == pytest.approx(5.5, abs=0.06)
    assert after.cold_l == pytest.approx(0.96 * after.hot_l, rel=1e-3)


def test_the_boil_off_is_learned_from_one_boil() -> None:
    after = boil(hot_l=7, sg=1.0, minutes=75, boil_off_l_per_h=1.4)

    learned = learned_boil_off_l_per_h(hot_before_l=7, cold_after_l=after.cold_l, minutes=75)

    assert learned == pytest.approx(1.4, rel=0.01)


def test_a_boil_that_gained_volume_is_refused() -> None:
    with pytest.raises(InvalidInputError, match="more than"):
        learned_boil_off_l_per_h(hot_before_l=5, cold_after_l=5, minutes=60)


def test_boiling_a_pot_dry_is_refused() -> None:
    with pytest.raises(InvalidInputError, match="syrup"):
        boil(hot_l=3, sg=1.06, minutes=120, boil_off_l_per_h=1.5)


@settings(max_examples=60, deadline=None)
@given(altitude_m=st.floats(-430, 5400), higher=st.floats(1, 100))
def test_higher_up_water_boils_earlier(altitude_m: float, higher: float) -> None:
    low = boiling_point(altitude_m=altitude_m)
    high = boiling_point(altitude_m=altitude_m + higher)

    assert high.temp_c < low.temp_c


@settings(max_examples=40, deadline=None)
@given(minutes=st.floats(1, 90), longer=st.floats(0.5, 20))
def test_a_longer_boil_leaves_less_and_stronger_wort(minutes: float, longer: float) -> None:
    short = boil(hot_l=8, sg=1.035, minutes=minutes, boil_off_l_per_h=2)
    long = boil(hot_l=8, sg=1.035, minutes=minutes + longer, boil_off_l_per_h=2)

    assert long.cold_l < short.cold_l
    assert long.sg > short.sg


@pytest.mark.parametrize(
    ("asked", "field", "words"),
    [
        ({}, "", "exactly one"),
        ({"pressure_hpa": 1000, "altitude_m": 100}, "", "exactly one"),
        ({"pressure_hpa": 1.013}, "/pressure_hpa", "in bar"),
        ({"pressure_hpa": 101.3}, "/pressure_hpa", "kPa"),
        ({"pressure_hpa": 29.92}, "/pressure_hpa", "inches of mercury"),
        ({"pressure_hpa": 101325}, "/pressure_hpa", "in Pa"),
        ({"altitude_m": 8000}, "/altitude_m", "feet"),
        ({"altitude_m": math.inf}, "/altitude_m", "not a number"),
    ],
)
def test_the_boiling_point_refuses_other_units_by_name(asked: dict[str, Any], field: str, words: str) -> None:
    with pytest.raises(InvalidInputError) as refusal:
        boiling_point(**asked)

    assert refusal.value.problems[0].field == field
    assert words in refusal.value.problems[0].problem
