"""Lag, stop and additions around the kinetics."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sensors.simulated import wort
from sensors.simulated.fermentation import Fermentation
from tests.sensors.simulated.twins import BROWN

QUICK = replace(BROWN, lag_h=0.0)
STEP_H = 0.25


def after(ferment: Fermentation, days: float, temp_c: float = 21.0) -> Fermentation:
    for _ in range(round(days * 24 / STEP_H)):
        ferment.advance(temp_c, STEP_H)
    return ferment


def gravity(ferment: Fermentation) -> float:
    return wort.gravity_after(ferment.original_plato, ferment.fermented_per_kg)


@settings(max_examples=12, deadline=None)
@given(st.floats(0.05, 1.0))
def test_it_stops_at_any_share_and_never_beyond(share: float) -> None:
    ferment = after(Fermentation(replace(QUICK, stops_at_share=share)), days=25)

    assert ferment.share <= share + 1e-3
    assert ferment.share == pytest.approx(share, abs=0.01)


def test_a_stop_at_nothing_never_begins() -> None:
    assert after(Fermentation(replace(QUICK, stops_at_share=0.0)), days=3).share == 0.0


@pytest.mark.parametrize("og, attenuation", [(1.030, 0.7), (1.046, 0.74), (1.070, 0.8), (1.100, 0.62)])
def test_it_ends_at_the_gravity_that_the_attenuation_says(og: float, attenuation: float) -> None:
    beer = replace(QUICK, og=og, attenuation=attenuation, pace=3.0)

    ferment = after(Fermentation(beer), days=40)

    assert gravity(ferment) == pytest.approx(1.0 + (og - 1.0) * (1.0 - attenuation), abs=2e-4)


def test_sugar_raises_the_gravity_at_once_and_then_ferments_whole() -> None:
    # Balling's relation: 100 g of sucrose in 5.216 kg of wort of 11.196 P make 12.87 P in all (arithmetic).
    plain, sugared = after(Fermentation(QUICK), days=20), after(Fermentation(QUICK), days=20)
    before = gravity(sugared)

    sugared.add_sugar(100.0)
    at_once = gravity(sugared)
    after(sugared, days=20)
    after(plain, days=20)

    assert sugared.original_plato == pytest.approx(12.87, abs=0.02)
    assert 0.006 < at_once - before < 0.008
    assert gravity(sugared) < gravity(plain)
    more_kg = sugared.fermented_per_kg * sugared.mass_kg - plain.fermented_per_kg * plain.mass_kg
    assert more_kg == pytest.approx(0.100, rel=0.01)
    assert sugared.share <= 1.0


def test_warmth_shortens_the_lag_as_it_speeds_the_yeast() -> None:
    # Early in a long lag activity is (warm hours/lag)^4, and ten degrees count 2.2 times (this twin's rule).
    def share(lag_h: float, temp_c: float) -> float:
        return after(Fermentation(replace(QUICK, lag_h=lag_h)), days=0.25, temp_c=temp_c).share

    with_lag = share(200.0, 26.0) / share(200.0, 16.0)
    without = share(0.0, 26.0) / share(0.0, 16.0)

    assert with_lag / without == pytest.approx(2.2**4, rel=0.3)


def test_half_of_the_pace_takes_twice_as_long() -> None:
    usual, slow = after(Fermentation(QUICK), days=2), after(Fermentation(replace(QUICK, pace=0.5)), days=4)

    assert slow.share == pytest.approx(usual.share, rel=1e-3)


@pytest.mark.parametrize(
    "og, fg, kg_per_kg",
    [(1.045, 1.010, 0.377 / 5.216)],  # computed by Balling's relation for 5 litres
)
def test_extract_fermented_is_that_of_ballings_relation(og: float, fg: float, kg_per_kg: float) -> None:
    assert wort.fermented_per_kg(og, fg) == pytest.approx(kg_per_kg, rel=2e-3)


@pytest.mark.parametrize("plato, sg", [(5.0, 1.01966), (10.0, 1.04003), (12.0, 1.04839), (20.0, 1.08302)])
def test_gravity_is_within_the_cubics_error_of_the_icumsa_sucrose_densities(plato: float, sg: float) -> None:
    # SG 20/20 in air computed from the ICUMSA polynomial (Bubnik et al. 1995, second-hand); 0.011 P is 5e-5.
    assert wort.gravity(plato) == pytest.approx(sg, abs=6e-5)


@given(st.floats(-3.0, 35.0))
def test_gravity_and_plato_undo_each_other(plato: float) -> None:
    assert wort.plato(wort.gravity(plato)) == pytest.approx(plato, abs=1e-6)
