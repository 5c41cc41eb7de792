"""The refractometer with its alcohol correction."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.alcohol import alcohol_by_mass_percent, apparent_extract_plato
from service.brewing.refractometer import refractometer
from service.brewing.sucrose import plato_from_sg, sg_from_plato
from service.errors import InvalidInputError


def test_unfermented_wort_reads_its_own_gravity() -> None:
    answer = refractometer(og_brix=12.48, brix=12.48, wort_factor=1.04)

    assert plato_from_sg(answer.sg) == pytest.approx(12.0, abs=1e-6)


@settings(max_examples=80, deadline=None)
@given(oe=st.floats(5, 25), left=st.floats(0.3, 1.0), factor=st.floats(1.0, 1.08))
def test_the_relation_leads_back_to_the_beer_it_was_made_from(oe: float, left: float, factor: float) -> None:
    real = left * oe
    brix = factor * (real + 0.43 * alcohol_by_mass_percent(oe, real))

    answer = refractometer(og_brix=factor * oe, brix=brix, wort_factor=factor)

    assert answer.sg == pytest.approx(sg_from_plato(apparent_extract_plato(oe, real)), abs=1e-6)
    assert answer.low < answer.sg < answer.high


@settings(max_examples=60, deadline=None)
@given(brix=st.floats(5.5, 11), more=st.floats(0.01, 0.9))
def test_a_higher_reading_is_a_higher_gravity(brix: float, more: float) -> None:
    lower = refractometer(og_brix=12, brix=brix)
    higher = refractometer(og_brix=12, brix=brix + more)

    assert higher.sg > lower.sg


def test_finished_beer_is_uncertain_by_a_few_points_and_wort_by_less() -> None:
    beer = refractometer(og_brix=11.7, brix=5.9)
    wort = refractometer(og_brix=11.7, brix=11.7)

    assert 0.0015 < beer.high - beer.sg < 0.0045
    assert wort.high - wort.sg < beer.high - beer.sg
    assert "one hydrometer reading" in beer.working.limits


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"brix": 13.0}, "/brix", "above"),
        ({"brix": 1.0}, "/brix", "no beer ends there"),
        ({"og_brix": 1048.0}, "/og_brix", "SG given as degrees Plato"),
        ({"wort_factor": 0.5}, "/wort_factor", "0.9 to 1.15"),
        ({"brix": math.nan}, "/brix", "not a number"),
    ],
)
def test_impossible_readings_are_refused(changed: dict[str, Any], field: str, words: str) -> None:
    asked: dict[str, Any] = {"og_brix": 12.0, "brix": 6.0} | changed

    with pytest.raises(InvalidInputError) as refusal:
        refractometer(**asked)

    assert refusal.value.problems[0].field == field
    assert words in refusal.value.problems[0].problem
