"""Laws of dissolved gas and of the pressure it makes."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.bottle_pressure import pressure
from service.brewing.carbonation import co2_bar_for, dissolved, volumes_at
from service.errors import InvalidInputError

temps_c = st.floats(0, 40)


@settings(max_examples=60, deadline=None)
@given(volumes=st.floats(0.1, 6), temp_c=temps_c)
def test_pressure_for_volumes_and_back_is_the_same_volumes(volumes: float, temp_c: float) -> None:
    assert volumes_at(co2_bar_for(volumes, temp_c), temp_c) == pytest.approx(volumes, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(temp_c=st.floats(0, 39), warmer=st.floats(0.01, 1), pressure_bar=st.floats(0.5, 8))
def test_warm_beer_always_holds_less(temp_c: float, warmer: float, pressure_bar: float) -> None:
    cool = dissolved(temp_c=temp_c, pressure_bar=pressure_bar)
    warm = dissolved(temp_c=temp_c + warmer, pressure_bar=pressure_bar)

    assert warm.volumes < cool.volumes


@settings(max_examples=60, deadline=None)
@given(temp_c=temps_c, pressure_bar=st.floats(0.5, 7.9), more=st.floats(0.001, 0.1))
def test_more_pressure_always_dissolves_more(temp_c: float, pressure_bar: float, more: float) -> None:
    lower = dissolved(temp_c=temp_c, pressure_bar=pressure_bar)
    higher = dissolved(temp_c=temp_c, pressure_bar=pressure_bar + more)

    assert higher.volumes > lower.volumes
    assert lower.grams_per_l == pytest.approx(1.9768 * lower.volumes)


@settings(max_examples=60, deadline=None)
@given(
    volumes=st.floats(0.2, 5.9),
    more=st.floats(0.001, 0.1),
    temp_c=st.floats(0, 39),
    warmer=st.floats(0.01, 1),
    headspace=st.floats(0, 29),
    air=st.booleans(),
)
def test_bottle_pressure_rises_with_gas_and_warmth_and_falls_with_room(
    volumes: float, more: float, temp_c: float, warmer: float, headspace: float, air: bool
) -> None:
    base = pressure(volumes=volumes, temp_c=temp_c, headspace_percent=headspace, headspace_air=False)
    gassier = pressure(
        volumes=volumes + more, temp_c=temp_c, headspace_percent=headspace, headspace_air=False
    )
    hotter = pressure(
        volumes=volumes, temp_c=temp_c + warmer, headspace_percent=headspace, headspace_air=False
    )
    roomier = pressure(volumes=volumes, temp_c=temp_c, headspace_percent=headspace + 1, headspace_air=False)
    aired = pressure(volumes=volumes, temp_c=temp_c, headspace_percent=headspace, headspace_air=air)

    assert gassier.gauge_bar > base.gauge_bar
    assert hotter.gauge_bar > base.gauge_bar
    assert roomier.gauge_bar < base.gauge_bar
    assert aired.gauge_bar == pytest.approx(base.gauge_bar + aired.air_bar)


def test_a_bottle_without_headspace_holds_no_air() -> None:
    assert pressure(volumes=2.4, temp_c=20, headspace_percent=0).air_bar == 0


def test_saturated_beer_in_a_brim_full_bottle_stands_at_no_gauge_pressure() -> None:
    saturated = dissolved(temp_c=20).volumes

    answer = pressure(volumes=saturated, temp_c=20, headspace_percent=0, headspace_air=False)

    assert answer.gauge_bar == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(
    ("asked", "field", "words"),
    [
        ({"temp_c": 68.0}, "/temp_c", "Fahrenheit"),
        ({"temp_c": math.nan}, "/temp_c", "not a number"),
        ({"temp_c": 20.0, "pressure_bar": 0.3}, "/pressure_bar", "gauge pressure"),
        ({"temp_c": 20.0, "pressure_bar": 30.0}, "/pressure_bar", "psi"),
        ({"temp_c": 20.0, "pressure_bar": 101.3}, "/pressure_bar", "kPa"),
        ({"temp_c": 20.0, "pressure_bar": 1013.25}, "/pressure_bar", "hPa"),
    ],
)
def test_dissolved_gas_refuses_other_units_by_name(asked: dict[str, float], field: str, words: str) -> None:
    with pytest.raises(InvalidInputError) as refusal:
        dissolved(**asked)

    assert refusal.value.problems[0].field == field
    assert words in refusal.value.problems[0].problem


@pytest.mark.parametrize(
    ("volumes", "temp_c", "headspace", "field", "words"),
    [
        (7.0, 20.0, 4.0, "/volumes", "grams per litre"),
        (2.4, 86.0, 4.0, "/temp_c", "Fahrenheit"),
        (2.4, 20.0, 60.0, "/headspace_percent", "0 to 30"),
    ],
)
def test_bottle_pressure_states_its_range(
    volumes: float, temp_c: float, headspace: float, field: str, words: str
) -> None:
    with pytest.raises(InvalidInputError) as refusal:
        pressure(volumes=volumes, temp_c=temp_c, headspace_percent=headspace)

    assert refusal.value.problems[0].field == field
    assert words in refusal.value.problems[0].problem
