"""How carbonation grows in the bottle."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.conditioning import Conditioning, Squeeze, conditioning, warm_days
from service.errors import InvalidInputError


def grown(**changed: Any) -> Conditioning:
    asked: dict[str, Any] = {"residual_volumes": 0.85, "wanted_volumes": 2.4, "temp_c": 20.0, "days": 7.0}
    return conditioning(**(asked | changed))


def test_bottles_are_worth_opening_after_one_to_three_weeks_in_the_warm() -> None:
    # Common practice: one to three weeks at room temperature.
    days = grown().worth_opening_days

    assert 4 < days.low < days.value < days.high < 21
    assert 7 < days.value < 14


def test_on_the_day_of_bottling_there_is_only_what_was_left() -> None:
    now = grown(days=0).volumes

    assert now.value == now.low == now.high == 0.85


def test_after_months_all_of_the_sugar_is_gone() -> None:
    assert grown(days=120).volumes.low == pytest.approx(2.4, abs=0.01)


def test_the_curve_runs_from_bottling_to_four_weeks() -> None:
    answer = grown()

    assert [at.day for at in answer.curve] == list(range(29))
    assert answer.curve[7].value == pytest.approx(answer.volumes.value)
    assert answer.curve[0].value == 0.85


def test_a_firm_bottle_early_says_it_is_fast_and_a_soft_one_late_that_it_is_slow() -> None:
    untold = grown().worth_opening_days
    fast = grown(squeezes=[Squeeze(2.0, True)]).worth_opening_days
    slow = grown(squeezes=[Squeeze(10.0, False)]).worth_opening_days

    assert fast.value < 0.85 * untold.value
    assert slow.value > 1.2 * untold.value


def test_squeezes_narrow_the_interval() -> None:
    untold = grown().worth_opening_days
    told = grown(squeezes=[Squeeze(3.0, False), Squeeze(5.0, True)]).worth_opening_days

    assert told.high - told.low < 0.75 * (untold.high - untold.low)


def test_one_thumb_in_error_does_not_turn_everything_over() -> None:
    firm = [Squeeze(float(day), True) for day in (6, 7, 8)]
    with_error = grown(squeezes=[*firm, Squeeze(30.0, False)]).worth_opening_days

    assert with_error.value < 2 * grown(squeezes=firm).worth_opening_days.value


@settings(max_examples=40, deadline=None)
@given(temp_c=st.floats(8, 29), warmer=st.floats(0.1, 1), days=st.floats(1, 40), more=st.floats(0.1, 5))
def test_gas_grows_with_days_and_faster_in_the_warm(
    temp_c: float, warmer: float, days: float, more: float
) -> None:
    base = grown(temp_c=temp_c, days=days)
    later = grown(temp_c=temp_c, days=days + more)
    warm = grown(temp_c=temp_c + warmer, days=days)

    assert later.volumes.value >= base.volumes.value
    assert warm.volumes.value >= base.volumes.value
    assert warm.worth_opening_days.value < base.worth_opening_days.value
    assert base.volumes.low <= base.volumes.value <= base.volumes.high <= 2.4


def test_a_day_at_20_c_is_a_warm_day_and_one_in_the_fridge_is_none() -> None:
    assert warm_days(20, 1) == 1
    assert warm_days(30, 1) == pytest.approx(2.5)
    assert warm_days(2, 10) == 0


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"temp_c": 2.0}, "/temp_c", "stands still"),
        ({"temp_c": 68.0}, "/temp_c", "Fahrenheit"),
        ({"wanted_volumes": 0.5}, "/wanted_volumes", "already"),
        ({"days": -1.0}, "/days", "outside"),
        ({"squeezes": [Squeeze(1, True), Squeeze(-1, True)]}, "/squeezes/1/days", "outside"),
    ],
)
def test_what_cannot_grow_is_refused(changed: dict[str, Any], field: str, words: str) -> None:
    with pytest.raises(InvalidInputError) as refusal:
        grown(**changed)

    assert refusal.value.problems[0].field == field
    assert words in refusal.value.problems[0].problem
