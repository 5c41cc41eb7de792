"""Laws of the two scales of gravity over their whole range."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.sucrose import (
    plato_from_density,
    plato_from_sg,
    sg_at_reference,
    sg_from_plato,
    sucrose_density_kg_per_m3,
)

platos = st.floats(-4, 40)
references_c = st.floats(10, 30)


@settings(max_examples=150, deadline=None)
@given(plato=platos, reference_c=references_c)
def test_plato_to_sg_and_back_is_the_same_plato(plato: float, reference_c: float) -> None:
    sg = sg_from_plato(plato, reference_c)

    assert plato_from_sg(sg, reference_c) == pytest.approx(plato, abs=1e-7)


@settings(max_examples=150, deadline=None)
@given(plato=st.floats(-4, 50), temp_c=st.floats(0, 60))
def test_density_and_back_is_the_same_plato(plato: float, temp_c: float) -> None:
    density = sucrose_density_kg_per_m3(plato, temp_c)

    assert plato_from_density(density, temp_c) == pytest.approx(plato, abs=1e-7)


@settings(max_examples=100, deadline=None)
@given(plato=platos, more=st.floats(0.001, 1), reference_c=references_c)
def test_more_extract_is_always_a_higher_sg(plato: float, more: float, reference_c: float) -> None:
    assert sg_from_plato(plato + more, reference_c) > sg_from_plato(plato, reference_c)


@settings(max_examples=60, deadline=None)
@given(sg=st.floats(0.99, 1.16), from_c=references_c, to_c=references_c)
def test_changing_the_reference_temperature_and_back_is_the_same_sg(
    sg: float, from_c: float, to_c: float
) -> None:
    there = sg_at_reference(sg, from_c=from_c, to_c=to_c)

    assert sg_at_reference(there, from_c=to_c, to_c=from_c) == pytest.approx(sg, abs=1e-9)


@pytest.mark.parametrize("reference_c", [15, 15.556, 17.5, 20])
def test_water_is_zero_plato_on_every_reference_temperature(reference_c: float) -> None:
    assert sg_from_plato(0, reference_c) == 1.0


def test_a_wort_reads_a_little_lower_on_the_scale_of_a_warmer_reference() -> None:
    at_20 = sg_at_reference(1.050, from_c=15.556, to_c=20)

    assert 1.0497 < at_20 < 1.050
