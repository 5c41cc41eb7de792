"""Gravity from the loss of weight."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.alcohol import alcohol
from service.brewing.weight import gas_made_g, weight_loss
from service.errors import InvalidInputError


def test_nothing_lost_is_the_original_gravity() -> None:
    answer = weight_loss(og=1.048, volume_l=5, lost_g=0)

    assert answer.sg == pytest.approx(1.048, abs=1e-6)
    assert answer.dissolved_g == 0


@settings(max_examples=80, deadline=None)
@given(og=st.floats(1.03, 1.09), volume_l=st.floats(2, 30), share=st.floats(0.05, 0.95))
def test_the_gravity_found_would_make_just_that_much_gas(og: float, volume_l: float, share: float) -> None:
    most_g = gas_made_g(og=og, sg=1 + 0.2 * (og - 1), volume_l=volume_l)

    answer = weight_loss(og=og, volume_l=volume_l, lost_g=share * most_g)

    made_g = gas_made_g(og=og, sg=answer.sg, volume_l=volume_l)
    assert made_g == pytest.approx(answer.gas_made_g, rel=1e-3)
    assert answer.gas_made_g == pytest.approx(share * most_g + answer.dissolved_g)


def test_gas_and_alcohol_agree_with_balling() -> None:
    answer = weight_loss(og=1.045, volume_l=5, lost_g=165)

    by_mass = alcohol(og=1.045, fg=answer.sg).alcohol_by_mass_percent
    beer_g = 5216 - answer.gas_made_g * (1 + 0.11 / 0.9565)
    assert by_mass / 100 * beer_g * 0.9565 == pytest.approx(answer.gas_made_g, rel=2e-3)


@settings(max_examples=60, deadline=None)
@given(lost_g=st.floats(0, 180), more=st.floats(0.1, 5))
def test_more_lost_is_always_a_lower_gravity(lost_g: float, more: float) -> None:
    less = weight_loss(og=1.05, volume_l=5, lost_g=lost_g)
    further = weight_loss(og=1.05, volume_l=5, lost_g=lost_g + more)

    assert further.sg < less.sg
    assert less.low < less.sg < less.high


def test_cold_beer_keeps_more_of_its_gas() -> None:
    warm = weight_loss(og=1.045, volume_l=5, lost_g=160, temp_c=22)
    cold = weight_loss(og=1.045, volume_l=5, lost_g=160, temp_c=4)

    assert cold.dissolved_g > 1.4 * warm.dissolved_g
    assert cold.sg < warm.sg


def test_a_small_batch_is_less_certain_on_the_same_scale() -> None:
    small = weight_loss(og=1.045, volume_l=1, lost_g=33)
    large = weight_loss(og=1.045, volume_l=5, lost_g=165)

    assert small.high - small.low > 1.5 * (large.high - large.low)


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"lost_g": 400.0}, "/lost_g", "at the very most"),
        ({"lost_g": -5.0}, "/lost_g", "outside"),
        ({"og": 1045.0}, "/og", "decimal point"),
        ({"volume_l": 5000.0}, "/volume_l", "millilitres"),
        ({"temp_c": 68.0}, "/temp_c", "Fahrenheit"),
    ],
)
def test_impossible_losses_are_refused(changed: dict[str, Any], field: str, words: str) -> None:
    asked: dict[str, Any] = {"og": 1.045, "volume_l": 5.0, "lost_g": 150.0} | changed

    with pytest.raises(InvalidInputError) as refusal:
        weight_loss(**asked)

    assert refusal.value.problems[0].field == field
    assert words in refusal.value.problems[0].problem
