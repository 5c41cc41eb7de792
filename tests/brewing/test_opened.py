"""An opened bottle against the beer that went in."""

import pytest

from service.brewing.opened import opened


def against(before: float, bottle: float, half_pt: float = 0.7) -> dict[str, float]:
    half = half_pt / 1000
    return {
        "before_sg": before,
        "before_low": before - half,
        "before_high": before + half,
        "sg": bottle,
        "low": bottle - half,
        "high": bottle + half,
    }


def test_a_bottle_that_fell_is_told_with_its_gas_and_the_cautions() -> None:
    found = opened(**against(1.012, 1.009))

    # both intervals are 0.7 point wide to either side: together sqrt(2) x 0.7 = 0.99
    assert found.fell
    assert found.fell_pt.value == pytest.approx(3.0)
    assert found.fell_pt.low == pytest.approx(3.0 - 0.99, abs=0.01)
    assert found.volumes == pytest.approx(1.5)
    assert "over-pressured" in found.sentence
    assert any("do not move or open them warm" in caution for caution in found.cautions)


@pytest.mark.parametrize(
    ("bottle", "words"),
    [(1.0122, "agrees"), (1.0115, "agrees"), (1.0150, "above the beer")],
)
def test_a_bottle_that_did_not_surely_fall_frightens_nobody(bottle: float, words: str) -> None:
    found = opened(**against(1.012, bottle, half_pt=1.5))

    assert not found.fell
    assert found.cautions == ()
    assert words in found.sentence


def test_a_doubtful_fall_asks_for_another_bottle() -> None:
    found = opened(**against(1.012, 1.0105, half_pt=1.5))

    assert not found.fell
    assert "measure another" in found.sentence
