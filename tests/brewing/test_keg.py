"""Kegs: pressure and days."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.carbonation import dissolved
from service.brewing.keg import keg
from service.errors import InvalidInputError


@settings(max_examples=60, deadline=None)
@given(volumes=st.floats(1.8, 3.5), temp_c=st.floats(1, 30))
def test_the_pressure_of_a_keg_dissolves_just_what_was_wanted(volumes: float, temp_c: float) -> None:
    answer = keg(volumes=volumes, temp_c=temp_c)

    # The regulator shows the pressure over the air outside.
    held = dissolved(temp_c=temp_c, pressure_bar=answer.gauge_bar + 1.01325)
    assert held.volumes == pytest.approx(volumes, abs=1e-6)


def test_a_keg_is_ready_after_one_to_two_weeks() -> None:
    # Common practice for a keg left at serving pressure.
    days = keg(volumes=2.4, temp_c=5).days

    assert 5 < days.low < days.value < days.high < 16
    assert 7 <= days.value <= 14


def test_beer_that_holds_it_already_takes_no_time() -> None:
    assert keg(volumes=2.2, temp_c=5, start_volumes=2.4).days.high == 0


def test_a_keg_that_would_need_a_vacuum_is_refused() -> None:
    with pytest.raises(InvalidInputError, match="below the air's own pressure"):
        keg(volumes=1.0, temp_c=4)


def test_the_dangers_of_gas_are_named() -> None:
    limits = keg(volumes=2.4, temp_c=5).working.limits

    assert "relief valve" in limits
    assert "carbon dioxide gathers" in limits
