"""Readings of every kind, corrected."""

from typing import Any

import pytest

from service.brewing.hydrometer import gravity
from service.brewing.readings import ReadingContext, ReadingKind, reading
from service.brewing.refractometer import refractometer
from service.brewing.sucrose import plato_from_sg
from service.brewing.weight import weight_loss
from service.errors import InvalidInputError

BATCH = ReadingContext(og=1.045, volume_l=5.0, first_kg=7.250, beer_c=20.0)


def test_a_hydrometer_reading_is_corrected_for_its_sample() -> None:
    answer = reading(sg=1.020, sample_c=26, context=BATCH)
    expected = gravity(sg=1.020, sample_c=26)

    assert answer.corrected_sg == expected.corrected_sg
    assert (answer.low, answer.high) == (expected.low, expected.high)
    assert answer.working == expected.working


def test_a_limit_jar_is_read_like_a_hydrometer() -> None:
    jar = reading(by=ReadingKind.LIMIT_JAR, plato=2.5, sample_c=24, context=BATCH)

    assert jar.corrected_sg == gravity(plato=2.5, sample_c=24).corrected_sg


def test_a_fizzy_sample_is_taken_to_read_one_to_two_points_high() -> None:
    still = reading(sg=1.012, context=BATCH)
    fizzy = reading(sg=1.012, degassed=False, context=BATCH)

    assert (still.corrected_sg - fizzy.corrected_sg) * 1000 == pytest.approx(1.5)
    assert fizzy.high - fizzy.low > still.high - still.low
    assert "bubbles" in fizzy.working.formula


def test_a_refractometer_takes_the_wort_from_the_batch() -> None:
    answer = reading(by=ReadingKind.REFRACTOMETER, brix=6.0, wort_factor=1.03, context=BATCH)
    expected = refractometer(og_brix=plato_from_sg(1.045) * 1.03, brix=6.0, wort_factor=1.03)

    assert answer.corrected_sg == expected.sg
    assert (answer.low, answer.high) == (expected.low, expected.high)


def test_the_wort_as_the_refractometer_read_it_is_preferred() -> None:
    context = ReadingContext(og=1.045, og_brix=12.0)

    answer = reading(by=ReadingKind.REFRACTOMETER, brix=6.0, context=context)

    assert answer.corrected_sg == refractometer(og_brix=12.0, brix=6.0).sg


def test_the_fermenters_weight_is_compared_with_its_first() -> None:
    answer = reading(by=ReadingKind.WEIGHT, kg=7.100, context=BATCH)
    expected = weight_loss(og=1.045, volume_l=5, lost_g=150)

    assert answer.corrected_sg == pytest.approx(expected.sg)
    assert answer.working.inputs[0].value == 7.250


def test_what_was_added_since_is_not_mistaken_for_gas_kept() -> None:
    context = ReadingContext(og=1.045, volume_l=5.0, first_kg=7.250, added_kg=0.050)

    answer = reading(by=ReadingKind.WEIGHT, kg=7.150, context=context)

    assert answer.corrected_sg == pytest.approx(weight_loss(og=1.045, volume_l=5, lost_g=150).sg)


def test_a_scale_that_shows_a_few_grams_more_is_no_error() -> None:
    answer = reading(by=ReadingKind.WEIGHT, kg=7.253, context=BATCH)

    assert answer.corrected_sg == pytest.approx(1.045)


@pytest.mark.parametrize(
    ("given", "context", "field", "words"),
    [
        ({}, BATCH, "/sg", "needs sg or plato"),
        ({"sg": 1.01, "brix": 6.0}, BATCH, "/brix", "does not belong"),
        ({"by": ReadingKind.WEIGHT, "sg": 1.01, "kg": 7.0}, BATCH, "/sg", "does not belong"),
        ({"by": ReadingKind.WEIGHT}, BATCH, "/kg", "needs kg"),
        ({"by": ReadingKind.WEIGHT, "kg": 7100.0}, BATCH, "/kg", "grams"),
        ({"by": ReadingKind.WEIGHT, "kg": 7.4}, BATCH, "/kg", "150 g more"),
        ({"by": ReadingKind.WEIGHT, "kg": 7.0}, ReadingContext(), "/kg", "original gravity"),
        ({"by": ReadingKind.WEIGHT, "kg": 7.0}, ReadingContext(og=1.045), "/kg", "volume"),
        (
            {"by": ReadingKind.WEIGHT, "kg": 7.0},
            ReadingContext(og=1.045, volume_l=5),
            "/kg",
            "first weighing",
        ),
        ({"by": ReadingKind.REFRACTOMETER, "brix": 6.0}, ReadingContext(), "/brix", "original gravity"),
        ({"sg": 1048.0}, BATCH, "/sg", "decimal point"),
        ({"sg": 1.01, "plato": 2.5}, BATCH, "", "exactly one"),
    ],
)
def test_a_reading_that_cannot_be_used_is_refused(
    given: dict[str, Any], context: ReadingContext, field: str, words: str
) -> None:
    with pytest.raises(InvalidInputError) as refusal:
        reading(context=context, **given)

    assert refusal.value.problems[0].field == field
    assert words in refusal.value.problems[0].problem
