"""What a brewer may expect of a corrected hydrometer reading."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.hydrometer import gravity
from service.errors import InvalidInputError

samples_c = st.floats(0, 60)
gravities = st.floats(0.995, 1.16)


def test_a_sample_at_the_instruments_temperature_needs_no_correction() -> None:
    answer = gravity(sg=1.048, sample_c=20, instrument_c=20)

    assert answer.corrected_sg == pytest.approx(1.048, abs=1e-9)
    assert answer.sg == 1.048


def test_a_hydrometer_that_shows_two_points_in_water_reads_two_points_high() -> None:
    answer = gravity(sg=1.050, zero_error_pt=2)

    assert answer.corrected_sg == pytest.approx(1.048, abs=1e-9)


def test_plato_and_sg_of_one_sample_give_one_answer() -> None:
    by_sg = gravity(sg=1.048, sample_c=27)

    by_plato = gravity(plato=by_sg.plato, sample_c=27)

    assert by_plato.corrected_sg == pytest.approx(by_sg.corrected_sg, abs=1e-9)
    assert by_plato.sg == pytest.approx(1.048, abs=1e-9)


def test_the_interval_holds_0_7_point_of_reading_error() -> None:
    answer = gravity(sg=1.010, sample_c=20)

    assert answer.high - answer.corrected_sg == pytest.approx(1.6449 * 0.0007, abs=2e-4)
    assert answer.corrected_sg - answer.low == pytest.approx(answer.high - answer.corrected_sg)


def test_a_hot_sample_is_less_certain_than_a_cool_one() -> None:
    hot, cool = gravity(sg=1.040, sample_c=55), gravity(sg=1.040, sample_c=20)

    assert hot.high - hot.low > 1.05 * (cool.high - cool.low)


def test_the_working_shows_formula_inputs_and_source() -> None:
    working = gravity(sg=1.048, sample_c=25).working

    assert "ISO 1768" in working.source
    assert {(q.name, q.value) for q in working.inputs} >= {("reading", 1.048), ("sample", 25)}
    assert "fizzy" in working.limits


@pytest.mark.parametrize(
    ("asked", "field", "words"),
    [
        ({}, "", "exactly one"),
        ({"sg": 1.04, "plato": 10.0}, "", "exactly one"),
        ({"sg": 1048.0}, "/sg", "without its decimal point"),
        ({"sg": 12.0}, "/sg", "degrees Plato given as SG"),
        ({"sg": 48.0}, "/sg", "gravity points"),
        ({"plato": 1048.0}, "/plato", "SG given as degrees Plato"),
        ({"sg": 1.04, "sample_c": 68.0}, "/sample_c", "Fahrenheit"),
        ({"sg": 1.04, "instrument_c": 60.0}, "/instrument_c", "Fahrenheit"),
        ({"sg": 1.04, "sample_c": 293.15}, "/sample_c", "Kelvin"),
        ({"sg": 1.04, "zero_error_pt": 30.0}, "/zero_error_pt", "-10 to 10 points"),
        ({"sg": math.nan}, "/sg", "not a number"),
        ({"sg": 1.04, "sample_c": math.inf}, "/sample_c", "not a number"),
    ],
)
def test_it_refuses_what_cannot_be_and_says_what_it_looks_like(
    asked: dict[str, float], field: str, words: str
) -> None:
    with pytest.raises(InvalidInputError) as refusal:
        gravity(**asked)

    (problem,) = refusal.value.problems
    assert problem.field == field
    assert words in problem.problem
    assert problem.remedy


def test_every_wrong_field_is_named_at_once() -> None:
    with pytest.raises(InvalidInputError) as refusal:
        gravity(sg=1048, sample_c=68)

    assert [p.field for p in refusal.value.problems] == ["/sg", "/sample_c"]


@settings(max_examples=60, deadline=None)
@given(sg=gravities, sample_c=st.floats(10, 59), warmer=st.floats(0.1, 1.0))
def test_a_warmer_sample_is_always_corrected_upwards(sg: float, sample_c: float, warmer: float) -> None:
    cool, warm = gravity(sg=sg, sample_c=sample_c), gravity(sg=sg, sample_c=sample_c + warmer)

    assert warm.corrected_sg > cool.corrected_sg


@settings(max_examples=60, deadline=None)
@given(sg=gravities, sample_c=samples_c, more=st.floats(1e-5, 1e-2))
def test_a_higher_reading_is_always_a_higher_gravity(sg: float, sample_c: float, more: float) -> None:
    lower, higher = gravity(sg=sg, sample_c=sample_c), gravity(sg=sg + more, sample_c=sample_c)

    assert higher.corrected_sg > lower.corrected_sg
    assert lower.low < lower.corrected_sg < lower.high
