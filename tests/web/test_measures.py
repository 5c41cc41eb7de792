"""Figures between the brewer's unit and the service's: there and back, and limits named as they are read."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.brewing import ranges
from web.measures import Kind, as_typed, is_foreign, kind_of, outside, taken, unit_of, written
from web.words import Taste

F = Taste(units="F")
PLATO = Taste(gravity="Plato")


@pytest.mark.parametrize(
    "limits, kind",
    [
        (ranges.BEER_C, Kind.TEMPERATURE),
        (ranges.RISE_C, Kind.SPAN),
        (ranges.SG, Kind.GRAVITY),
        (ranges.PLATO, Kind.PLAIN),
        (ranges.VOLUME_L, Kind.PLAIN),
        (None, Kind.PLAIN),
    ],
)
def test_the_kind_follows_from_the_limits(limits: ranges.Range | None, kind: Kind) -> None:
    assert kind_of(limits) is kind


@pytest.mark.parametrize(
    "kind, typed, taste, value",
    [
        (Kind.TEMPERATURE, 68.0, F, 20.0),
        (Kind.TEMPERATURE, 68.0, Taste(), 68.0),
        (Kind.SPAN, 9.0, F, 5.0),
        (Kind.GRAVITY, 12.0, PLATO, 1.048372),  # ICUMSA densities of sucrose solutions, 20/20 in air
        (Kind.GRAVITY, 1.048, Taste(), 1.048),
        (Kind.PLAIN, 5.0, Taste(units="F", gravity="Plato"), 5.0),
    ],
)
def test_what_was_typed_becomes_the_services_unit(
    kind: Kind, typed: float, taste: Taste, value: float
) -> None:
    assert taken(kind, typed, taste) == pytest.approx(value, abs=5e-5)


@given(
    st.sampled_from([Kind.TEMPERATURE, Kind.SPAN, Kind.PLAIN]),
    st.floats(-50, 150),
    st.sampled_from([F, PLATO, Taste()]),
)
def test_a_figure_comes_back_as_it_was_typed(kind: Kind, typed: float, taste: Taste) -> None:
    assert written(kind, taken(kind, typed, taste), taste) == pytest.approx(typed, abs=1e-5)


@given(st.floats(-3, 39))
def test_a_gravity_in_plato_comes_back(typed: float) -> None:
    assert written(Kind.GRAVITY, taken(Kind.GRAVITY, typed, PLATO), PLATO) == pytest.approx(typed, abs=1e-3)


def test_no_gravity_is_made_of_what_cannot_be_plato() -> None:
    assert math.isinf(taken(Kind.GRAVITY, 1048.0, PLATO))


def test_the_unit_beside_a_field_is_the_brewers() -> None:
    assert unit_of(Kind.TEMPERATURE, "C", F) == "F"
    assert unit_of(Kind.SPAN, "C", F) == "F"
    assert unit_of(Kind.GRAVITY, "SG", PLATO) == "degrees Plato"
    assert unit_of(Kind.GRAVITY, "SG", F) == "SG"
    assert unit_of(Kind.PLAIN, "L", F) == "L"
    assert as_typed(Kind.TEMPERATURE, 20.0, F) == "68"
    assert as_typed(Kind.TEMPERATURE, 15.56, F) == "60.01"
    assert is_foreign(Kind.GRAVITY, F) is False


@pytest.mark.parametrize(
    "typed, limits, taste, words",
    [
        (200, ranges.BEER_C, F,
         "The beer temperature 200 is outside 32 to 104 F. Give a value within 32 to 104 F."),
        (20, ranges.BEER_C, F,
         "The beer temperature 20 is outside 32 to 104 F. It looks like C. Give 68 F."),
        (1.048, ranges.FERMENTED_OG, PLATO,
         "The original gravity 1.048 is outside 1.29 to 30.16 degrees Plato. It looks like SG. "
         "Give 11.91 degrees Plato."),
        (1048, ranges.FERMENTED_OG, PLATO,
         "The original gravity 1048 is outside 1.29 to 30.16 degrees Plato. "
         "Give a value within 1.29 to 30.16 degrees Plato."),
    ],
)  # fmt: skip
def test_a_value_outside_is_refused_in_the_brewers_unit(
    typed: float, limits: ranges.Range, taste: Taste, words: str
) -> None:
    found = outside("/x", typed, limits, taste)

    assert found is not None
    assert f"{found.problem} {found.remedy}" == words


def test_a_value_inside_or_in_the_services_own_unit_is_left_to_the_service() -> None:
    assert outside("/x", 68, ranges.BEER_C, F) is None
    assert outside("/x", 200, ranges.BEER_C, Taste()) is None
