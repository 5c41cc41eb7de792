"""What additions do to the original gravity and to the expected end."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.additions import USUAL_ADDITIONS, addition
from service.errors import InvalidInputError


def test_adding_nothing_changes_nothing() -> None:
    answer = addition(volume_l=5, sg=1.045, mass_g=0)

    assert answer.og_equivalent == pytest.approx(1.045, abs=1e-9)
    assert answer.expected_fg_change_pt == pytest.approx(0, abs=1e-6)


def test_table_sugar_raises_the_start_and_lowers_the_end() -> None:
    answer = addition(volume_l=5, sg=1.045, mass_g=100)

    assert 6.5 < (answer.og_equivalent - 1.045) * 1000 < 7.7
    assert -2.5 < answer.expected_fg_change_pt < -0.5


def test_lactose_raises_start_and_end() -> None:
    answer = addition(volume_l=5, sg=1.045, mass_g=100, fermentable_share=0)

    assert answer.expected_fg_change_pt > 5


def test_water_lowers_both() -> None:
    answer = addition(volume_l=5, sg=1.050, mass_g=0, water_l=0.5)

    assert (answer.og_equivalent - 1) * 1000 == pytest.approx(50 * 5 / 5.5, abs=0.3)
    assert answer.expected_fg_change_pt == pytest.approx(-12.5 * 0.5 / 5.5, abs=0.2)


def test_the_expected_end_told_by_the_brewer_is_used() -> None:
    dry = addition(volume_l=5, sg=1.050, mass_g=0, water_l=1, expected_fg=1.006)
    sweet = addition(volume_l=5, sg=1.050, mass_g=0, water_l=1, expected_fg=1.020)

    assert sweet.expected_fg_change_pt < dry.expected_fg_change_pt < 0


@settings(max_examples=60, deadline=None)
@given(
    mass_g=st.floats(1, 500),
    share=st.floats(0, 1),
    fermentable=st.floats(0, 0.9),
    more=st.floats(0.01, 0.1),
)
def test_the_more_of_it_ferments_the_lower_the_end(
    mass_g: float, share: float, fermentable: float, more: float
) -> None:
    less = addition(volume_l=5, sg=1.045, mass_g=mass_g, extract_share=share, fermentable_share=fermentable)
    better = addition(
        volume_l=5, sg=1.045, mass_g=mass_g, extract_share=share, fermentable_share=fermentable + more
    )

    assert better.og_equivalent == less.og_equivalent
    assert better.expected_fg_change_pt <= less.expected_fg_change_pt


def test_every_usual_addition_is_accepted() -> None:
    for usual in USUAL_ADDITIONS:
        answer = addition(
            volume_l=5,
            sg=1.045,
            mass_g=50,
            extract_share=usual.extract_share,
            fermentable_share=usual.fermentable_share,
        )

        assert 1.04 < answer.og_equivalent < 1.05


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"extract_share": 80.0}, "/extract_share", "percentage"),
        ({"mass_g": 9000.0}, "/mass_g", "beyond 40"),
        ({"expected_fg": 1.060}, "/expected_fg", "above the original"),
        ({"water_l": -1.0}, "/water_l", "outside"),
    ],
)
def test_impossible_additions_are_refused(changed: dict[str, Any], field: str, words: str) -> None:
    asked: dict[str, Any] = {"volume_l": 5.0, "sg": 1.045, "mass_g": 100.0} | changed

    with pytest.raises(InvalidInputError) as refusal:
        addition(**asked)

    assert refusal.value.problems[0].field == field
    assert words in refusal.value.problems[0].problem
