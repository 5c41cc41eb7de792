"""Laws of Balling's balance, and what it refuses."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from service.brewing.alcohol import (
    CO2_PER_ETHANOL,
    EXTRACT_PER_ETHANOL,
    YEAST_PER_ETHANOL,
    alcohol,
    alcohol_by_mass_percent,
    apparent_extract_plato,
    original_extract_plato,
    real_extract_plato,
)
from service.errors import InvalidInputError


@settings(max_examples=100, deadline=None)
@given(original=st.floats(2, 30), share_left=st.floats(0, 1))
def test_original_extract_comes_back_from_alcohol_and_real_extract(
    original: float, share_left: float
) -> None:
    real = original * share_left

    alcohol_percent = alcohol_by_mass_percent(original, real)

    assert original_extract_plato(alcohol_percent, real) == pytest.approx(original, abs=1e-6)


@settings(max_examples=100, deadline=None)
@given(original=st.floats(2, 30), apparent=st.floats(-3, 30))
def test_apparent_extract_comes_back_from_real_extract(original: float, apparent: float) -> None:
    real = real_extract_plato(original, apparent)

    assert apparent_extract_plato(original, real) == pytest.approx(apparent, abs=1e-9)


def test_no_mass_is_lost_in_balling_s_balance() -> None:
    made = 1 + CO2_PER_ETHANOL + YEAST_PER_ETHANOL

    assert made == pytest.approx(EXTRACT_PER_ETHANOL, abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(og=st.floats(1.02, 1.12), fall=st.floats(0.001, 0.9), more=st.floats(0.001, 0.05))
def test_the_further_it_falls_the_stronger_it_is(og: float, fall: float, more: float) -> None:
    first, second = og - fall * (og - 1), og - (fall + more) * (og - 1)

    earlier, later = alcohol(og=og, fg=first), alcohol(og=og, fg=second)

    assert later.alcohol_by_volume_percent > earlier.alcohol_by_volume_percent
    assert later.real_attenuation_percent > earlier.real_attenuation_percent
    assert later.real_attenuation_percent < later.apparent_attenuation_percent


def test_wort_that_has_not_fermented_holds_no_alcohol() -> None:
    answer = alcohol(og=1.048, fg=1.048)

    assert answer.alcohol_by_volume_percent == pytest.approx(0, abs=1e-9)
    assert answer.alcohol_by_volume_low_percent == 0
    assert answer.apparent_attenuation_percent == pytest.approx(0, abs=1e-9)


def test_a_point_in_each_reading_is_inside_the_interval() -> None:
    answer = alcohol(og=1.048, fg=1.010)
    off_by_one_each = alcohol(og=1.049, fg=1.009).alcohol_by_volume_percent

    assert answer.alcohol_by_volume_low_percent < answer.alcohol_by_volume_percent
    assert off_by_one_each < answer.alcohol_by_volume_high_percent + 0.02
    assert answer.alcohol_by_volume_high_percent - answer.alcohol_by_volume_percent == pytest.approx(
        0.27, abs=0.02
    )


@pytest.mark.parametrize(
    ("og", "fg", "field", "words"),
    [
        (1.010, 1.045, "/fg", "above the original"),
        (1.020, 0.986, "/fg", "below zero"),
        (1045, 1.010, "/og", "without its decimal point"),
        (1.045, 10, "/fg", "degrees Plato"),
        (1.160, 1.010, "/og", "1.005 to 1.13"),
        (float("nan"), 1.010, "/og", "not a number"),
    ],
)
def test_it_refuses_what_no_beer_does(og: float, fg: float, field: str, words: str) -> None:
    with pytest.raises(InvalidInputError) as refusal:
        alcohol(og=og, fg=fg)

    assert refusal.value.problems[0].field == field
    assert words in refusal.value.problems[0].problem


@settings(max_examples=100, deadline=None)
@given(og=st.floats(1.005, 1.13), fg=st.floats(0.985, 1.13))
def test_inside_the_ranges_it_answers_or_refuses_and_never_fails(og: float, fg: float) -> None:
    try:
        answer = alcohol(og=og, fg=fg)
    except InvalidInputError:
        assume(False)

    assert 0 <= answer.alcohol_by_volume_percent < 22
    assert 0 <= answer.real_attenuation_percent <= 100.0001
