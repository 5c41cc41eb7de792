"""How the bottling bench is guarded."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.bottle_pressure import pressure
from service.brewing.priming import Bottle, priming
from service.brewing.safety import OVER_PRESSURED_CRATE
from service.brewing.sugars import Sugar
from service.errors import InvalidInputError


def test_it_gives_grams_by_litre_batch_and_bottle() -> None:
    answer = priming(volume_l=5, warmest_c=21, wanted_volumes=2.3, bottles=[Bottle(0.5, 8), Bottle(0.33, 3)])

    assert answer.grams_per_l is not None
    assert answer.refused is None
    assert answer.grams_total == pytest.approx(5 * answer.grams_per_l)
    assert [dose.grams for dose in answer.bottles] == pytest.approx(
        [0.5 * answer.grams_per_l, 0.33 * answer.grams_per_l]
    )
    assert answer.bottles[0].teaspoons == pytest.approx(0.5 * answer.grams_per_l / 4.2)
    assert [dose.count for dose in answer.bottles] == [8, 3]


def test_the_brewers_own_teaspoons_replace_the_usual_ones() -> None:
    answer = priming(
        volume_l=5, warmest_c=21, wanted_volumes=2.3, bottles=[Bottle(0.5, 8)], ten_teaspoons_g=38
    )

    grams = answer.bottles[0].grams
    assert grams is not None
    assert answer.bottles[0].teaspoons == pytest.approx(grams / 3.8)


def test_a_sugar_of_unknown_teaspoon_gets_grams_only() -> None:
    answer = priming(
        volume_l=5, warmest_c=21, wanted_volumes=2.3, sugar=Sugar.HONEY, bottles=[Bottle(0.5, 8)]
    )

    assert answer.bottles[0].grams is not None
    assert answer.bottles[0].teaspoons is None


def test_the_pressure_is_given_at_20_30_and_40_c_with_the_headspaces_air() -> None:
    answer = priming(volume_l=5, warmest_c=21, wanted_volumes=2.3)

    assert [p.at_c for p in answer.pressure] == [20, 30, 40]
    for at in answer.pressure:
        expected = pressure(volumes=2.3, temp_c=at.at_c, headspace_percent=4, headspace_air=True)
        assert at.gauge_bar == pytest.approx(expected.gauge_bar)


def test_it_gives_no_amount_above_3_volumes_in_ordinary_bottles() -> None:
    answer = priming(volume_l=5, warmest_c=20, wanted_volumes=3.1, bottles=[Bottle(0.5, 9)])

    assert answer.refused is not None
    assert "3.0" in answer.refused
    assert answer.grams_per_l is None
    assert answer.grams_total is None
    assert answer.bottles[0].grams is None
    assert answer.bottles[0].teaspoons is None
    assert set(OVER_PRESSURED_CRATE) <= set(answer.cautions)


def test_exactly_3_volumes_are_given_with_the_advice_for_an_over_pressured_crate() -> None:
    answer = priming(volume_l=5, warmest_c=20, wanted_volumes=3.0)

    assert answer.refused is None
    assert answer.volumes.high > 3.0
    assert set(OVER_PRESSURED_CRATE) <= set(answer.cautions)


def test_stronger_bottles_may_have_more() -> None:
    answer = priming(volume_l=5, warmest_c=20, wanted_volumes=3.4, stronger_bottles=True)
    too_much = priming(volume_l=5, warmest_c=20, wanted_volumes=4.1, stronger_bottles=True)

    assert answer.refused is None
    assert answer.grams_per_l is not None
    assert too_much.refused is not None
    assert too_much.grams_per_l is None


def test_points_left_that_alone_bring_the_wanted_gas_are_refused() -> None:
    answer = priming(volume_l=5, warmest_c=20, wanted_volumes=2.0, points_left=3)

    assert answer.refused is not None
    assert "without any sugar" in answer.refused
    assert answer.grams_per_l is None


def test_points_left_that_would_take_it_above_3_volumes_are_refused_in_any_bottle() -> None:
    for stronger in (False, True):
        answer = priming(
            volume_l=5, warmest_c=20, wanted_volumes=2.4, points_left=1.5, stronger_bottles=stronger
        )

        assert answer.refused is not None
        assert "steady" in answer.refused


def test_half_a_point_left_takes_its_gas_off_the_sugar_and_is_said_to_be_a_guess() -> None:
    finished = priming(volume_l=5, warmest_c=20, wanted_volumes=2.2)
    nearly = priming(volume_l=5, warmest_c=20, wanted_volumes=2.2, points_left=0.5)

    assert finished.grams_per_l is not None
    assert nearly.grams_per_l is not None
    assert finished.grams_per_l - nearly.grams_per_l == pytest.approx(0.25 * 3.844, rel=0.003)
    assert nearly.volumes.value == pytest.approx(finished.volumes.value)
    assert nearly.volumes.high > finished.volumes.high
    assert any("guess" in caution for caution in nearly.cautions)
    assert not any("guess" in caution for caution in finished.cautions)


def test_beer_that_already_holds_more_than_wanted_gets_no_sugar() -> None:
    answer = priming(volume_l=5, warmest_c=4, wanted_volumes=1.2)

    assert answer.grams_per_l == 0
    assert answer.volumes.value == pytest.approx(answer.residual_volumes)
    assert any("add no sugar" in caution for caution in answer.cautions)


def test_a_far_too_early_bottling_shows_no_pressure_rather_than_a_wrong_one() -> None:
    answer = priming(volume_l=5, warmest_c=20, wanted_volumes=2.4, points_left=30)

    assert answer.refused is not None
    assert all(at.gauge_bar is None for at in answer.pressure)


def test_the_usual_cautions_are_always_there() -> None:
    cautions = " ".join(priming(volume_l=5, warmest_c=20, wanted_volumes=2.0).cautions)

    for word in ("undamaged", "steady", "30 C", "eye protection"):
        assert word in cautions


def test_bottles_that_hold_less_than_the_beer_are_mentioned() -> None:
    answer = priming(volume_l=10, warmest_c=20, wanted_volumes=2.0, bottles=[Bottle(0.5, 10)])

    assert any("dose by bottle" in caution for caution in answer.cautions)


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"volume_l": 5000}, "/volume_l", "millilitres"),
        ({"warmest_c": 68}, "/warmest_c", "Fahrenheit"),
        ({"wanted_volumes": 8}, "/wanted_volumes", "grams per litre"),
        ({"wanted_volumes": math.nan}, "/wanted_volumes", "not a number"),
        ({"sugar": "treacle"}, "/sugar", "treacle"),
        ({"points_left": -1}, "/points_left", "0 to 100"),
        ({"bottles": [Bottle(0.5, 2), Bottle(500, 3)]}, "/bottles/1/size_l", "millilitres"),
        ({"bottles": [Bottle(33, 2)]}, "/bottles/0/size_l", "centilitres"),
        ({"bottles": [Bottle(0.5, 0)]}, "/bottles/0/count", "1 to 5000"),
        ({"bottles": [Bottle(0.5, 60)]}, "/bottles", "30.0 L"),
        ({"ten_teaspoons_g": 4.2}, "/ten_teaspoons_g", "10 to 120"),
    ],
)
def test_bad_input_is_refused_by_field(changed: dict[str, Any], field: str, words: str) -> None:
    asked: dict[str, Any] = {"volume_l": 5, "warmest_c": 20, "wanted_volumes": 2.2} | changed

    with pytest.raises(InvalidInputError) as refusal:
        priming(**asked)

    assert refusal.value.problems[0].field == field
    assert words in refusal.value.problems[0].problem


@settings(max_examples=100, deadline=None)
@given(
    warmest_c=st.floats(0, 40),
    wanted=st.floats(0, 6),
    points=st.floats(0, 20),
    sugar=st.sampled_from(list(Sugar)),
)
def test_an_amount_is_given_only_where_a_doubled_guess_stays_within_3_volumes(
    warmest_c: float, wanted: float, points: float, sugar: Sugar
) -> None:
    answer = priming(volume_l=5, warmest_c=warmest_c, wanted_volumes=wanted, sugar=sugar, points_left=points)

    if answer.grams_per_l is None:
        assert answer.refused
    else:
        assert answer.refused is None
        assert wanted + 0.5 * points <= 3.0 + 1e-9 or points == 0
        assert wanted <= 3.0
        assert answer.grams_per_l >= 0
    assert answer.volumes.low <= answer.volumes.value <= answer.volumes.high


@settings(max_examples=60, deadline=None)
@given(warmest_c=st.floats(0, 39), warmer=st.floats(0.01, 1), wanted=st.floats(1.8, 3.0))
def test_warmer_beer_has_lost_more_gas_and_wants_more_sugar(
    warmest_c: float, warmer: float, wanted: float
) -> None:
    cool = priming(volume_l=5, warmest_c=warmest_c, wanted_volumes=wanted)
    warm = priming(volume_l=5, warmest_c=warmest_c + warmer, wanted_volumes=wanted)

    assert cool.grams_per_l is not None
    assert warm.grams_per_l is not None
    assert warm.grams_per_l > cool.grams_per_l


def test_the_interval_adds_up_what_is_uncertain() -> None:
    answer = priming(volume_l=5, warmest_c=20, wanted_volumes=2.4)
    residual, primed = answer.residual_volumes, 2.4 - answer.residual_volumes

    # A tenth of the residual; 5 % of measuring and 3 % of the sugar; 5.3 % less where yeast grows.
    up = math.hypot(0.10 * residual, math.hypot(0.05, 0.03) * primed)
    down = math.hypot(0.10 * residual, (math.hypot(0.05, 0.03) + 0.0532) * primed)
    assert answer.volumes.high == pytest.approx(2.4 + up, abs=1e-4)
    assert answer.volumes.low == pytest.approx(2.4 - down, abs=1e-4)


def test_a_sugar_of_uncertain_yield_says_so_and_widens_the_interval() -> None:
    sure = priming(volume_l=5, warmest_c=20, wanted_volumes=2.4)
    unsure = priming(volume_l=5, warmest_c=20, wanted_volumes=2.4, sugar=Sugar.MALT_EXTRACT)

    assert unsure.volumes.high - unsure.volumes.low > 1.5 * (sure.volumes.high - sure.volumes.low)
    assert any("uncertain by 15 %" in caution for caution in unsure.cautions)
    assert not any("uncertain" in caution for caution in sure.cautions)


@pytest.mark.parametrize(("count", "said"), [(17, True), (19, False), (0, False)])
def test_beer_left_over_is_mentioned_from_a_tenth_on(count: int, said: bool) -> None:
    bottles = [Bottle(0.5, count)] if count else []

    answer = priming(volume_l=10, warmest_c=20, wanted_volumes=2.0, bottles=bottles)

    assert any("dose by bottle" in caution for caution in answer.cautions) == said


@pytest.mark.parametrize(("count", "refused"), [(12, False), (13, True)])
def test_a_bottle_more_than_the_beer_fills_is_allowed_and_two_are_not(count: int, refused: bool) -> None:
    # 5 L and a tenth fill eleven half litres; the twelfth may be the part-filled last one.
    asked: dict[str, Any] = {"volume_l": 5, "warmest_c": 20, "wanted_volumes": 2.0}
    if refused:
        with pytest.raises(InvalidInputError, match="there are only"):
            priming(**asked, bottles=[Bottle(0.5, count)])
    else:
        assert priming(**asked, bottles=[Bottle(0.5, count)]).bottles[0].count == count


def test_a_refusal_always_brings_the_advice_for_an_over_pressured_crate() -> None:
    answer = priming(volume_l=5, warmest_c=20, wanted_volumes=1.5, points_left=1.4)

    assert answer.refused is not None
    assert answer.volumes.high < 3.0
    assert set(OVER_PRESSURED_CRATE) <= set(answer.cautions)


def test_pressure_is_computed_up_to_8_volumes() -> None:
    below = priming(volume_l=5, warmest_c=20, wanted_volumes=2.0, points_left=14.2)
    above = priming(volume_l=5, warmest_c=20, wanted_volumes=2.0, points_left=14.4)

    assert below.volumes.value < 8.0 < above.volumes.value
    assert all(at.gauge_bar is not None for at in below.pressure)
    assert all(at.gauge_bar is None for at in above.pressure)
