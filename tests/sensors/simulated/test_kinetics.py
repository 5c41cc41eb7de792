"""The growth model against figures computed from its published parameters elsewhere.

Gee and Ramirez, parameters second-hand (three transcriptions agree, the paper was not seen). The figures
were computed apart from this code from a wort of 70/220/40 mol/m3 with 125 mol/m3 of yeast. They extend the
model beyond 16 C, up to which it was fitted.
"""

import pytest

from sensors.simulated.kinetics import Rates, Sugars, extrapolated, rates_at, step

WORT = Sugars(glucose=70.0, maltose=220.0, maltotriose=40.0, yeast=125.0)
STEP_H = 1 / 60


def mass(sugars: Sugars) -> float:
    return sugars.glucose * 180.16 + sugars.maltose * 342.3 + sugars.maltotriose * 504.44


def hours_until_gone(share: float, rates: Rates) -> float:
    now, steps = WORT, 0
    while mass(now) > (1.0 - share) * mass(WORT):
        now, steps = step(now, rates, STEP_H, WORT.yeast), steps + 1
    return steps * STEP_H


def test_after_two_days_at_20_c_it_has_the_computed_amounts() -> None:
    now, rates = WORT, rates_at(20.0)

    for _ in range(48 * 60):
        now = step(now, rates, STEP_H, WORT.yeast)

    assert now.maltose == pytest.approx(89.7, rel=0.005)
    assert now.maltotriose == pytest.approx(17.7, rel=0.005)
    assert now.yeast == pytest.approx(178.1, rel=0.005)
    assert now.ethanol == pytest.approx(763.1, rel=0.005)


@pytest.mark.parametrize(
    "temp_c, half_h, nearly_all_h",
    [(18.0, 44.3, 153.7), (20.0, 34.2, 115.9), (22.0, 26.6, 88.2)],
)
def test_half_and_nearly_all_of_the_sugar_go_in_the_computed_time(
    temp_c: float, half_h: float, nearly_all_h: float
) -> None:
    rates = rates_at(temp_c)

    assert hours_until_gone(0.5, rates) == pytest.approx(half_h, rel=0.005)
    assert hours_until_gone(0.95, rates) == pytest.approx(nearly_all_h, rel=0.005)


def test_yeast_that_has_grown_far_grows_more_slowly() -> None:
    # The model's factor KX/(KX + (X - X0)^2) with KX = 3.65e5: 0.2239 when X is 1125 above X0.
    rates, hours = rates_at(18.0), 1e-6

    fresh = step(WORT, rates, hours, WORT.yeast).yeast - WORT.yeast
    crowded = step(WORT, rates, hours, WORT.yeast - 1125.0).yeast - WORT.yeast

    assert crowded / fresh == pytest.approx(0.2239, rel=1e-3)


def test_glucose_goes_first_and_holds_the_others_back() -> None:
    now, rates = WORT, rates_at(18.0)

    for _ in range(5 * 60):
        now = step(now, rates, STEP_H, WORT.yeast)

    assert now.glucose / WORT.glucose < now.maltose / WORT.maltose
    assert now.glucose / WORT.glucose < now.maltotriose / WORT.maltotriose


@pytest.mark.parametrize("temp_c, outside", [(3.9, True), (4.0, False), (16.0, False), (16.1, True)])
def test_it_says_where_the_parameters_were_not_fitted(temp_c: float, outside: bool) -> None:
    assert extrapolated(temp_c) is outside
