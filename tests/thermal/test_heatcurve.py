"""The curve of the share fermented."""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from service.thermal.arrays import integral, lowpassed
from service.thermal.heatcurve import N_SHAPE, SHAPE_MEAN, SHAPE_SD, Curves, warped
from service.thermal.noise import innovations, whitener


def shapes(n: int, seed: int = 4) -> np.ndarray:
    return SHAPE_MEAN + SHAPE_SD * np.random.default_rng(seed).normal(0, 0.7, (n, N_SHAPE))


def test_every_curve_rises_from_nothing_to_one() -> None:
    curves = Curves(shapes(50))

    share = curves.at(np.linspace(0, 3000, 800))

    assert np.abs(share[:, 0]).max() < 1e-9
    assert (np.diff(share, axis=1) > -1e-9).all()
    assert share[:, -1].min() > 0.99


def test_the_hour_of_a_share_is_found_again_in_body_and_tail() -> None:
    curves = Curves(shapes(40))

    for share in (0.1, 0.5, 0.9, 0.99):
        z = curves.reached(np.full(40, share))

        assert curves.at(z[:, None])[:, 0] == pytest.approx(share, abs=0.01)


def test_it_recovers_the_four_parameter_logistic_from_its_own_curve() -> None:
    # ASBC Yeast-14: P = Pe + (Pi - Pe)/(1 + exp(B (t - M))); B and M as fitted to growth kinetics at 20 C.
    hours = np.arange(0.0, 160.0, 2.0)
    wanted = 1 - 1 / (1 + np.exp(0.0433 * (hours - 37.3)))
    wanted = (wanted - wanted[0]) / (1 - wanted[0])

    def apart(x: np.ndarray) -> np.ndarray:
        full = np.zeros((1, N_SHAPE))
        full[0, :3] = x
        full[0, 10:] = 0.27, -7.0, math.log(26)
        off: np.ndarray = Curves(full).at(hours)[0] - wanted
        return off

    found = least_squares(apart, [math.log(50), math.log(0.09), 0.3], diff_step=1e-4).x

    assert math.exp(found[0]) == pytest.approx(37.3, abs=1.0)
    assert math.exp(found[1]) == pytest.approx(0.0433, rel=0.04)
    assert math.exp(found[2]) == pytest.approx(1.0, abs=0.1)


def test_a_warm_hour_counts_for_more_than_a_cold_one() -> None:
    warm, cold = warped(np.full(48, 24.0), 0.5), warped(np.full(48, 14.0), 0.5)

    assert warm[-1] / cold[-1] == pytest.approx(2.2, rel=1e-6)


def test_the_filter_makes_a_walk_with_noise_white() -> None:
    rng = np.random.default_rng(3)
    e = rng.normal(0, 1, 400)
    walk = np.cumsum(e + -0.6 * np.concatenate([[0.0], e[:-1]]))
    present = np.ones(400, dtype=bool)

    white = whitener(present, -0.6) @ walk

    assert white == pytest.approx(e, abs=1e-6)
    assert innovations(walk, present, -0.6) == pytest.approx(white, abs=1e-6)


def test_the_first_row_after_a_gap_counts_for_less() -> None:
    present = np.ones(30, dtype=bool)
    present[10:20] = False

    whole, gapped = whitener(np.ones(20, dtype=bool), -0.3), whitener(present, -0.3)

    assert abs(gapped[10, 10]) < 0.5 * abs(whole[10, 10])
    assert gapped[9] == pytest.approx(whole[9])


def test_integral_and_low_pass_are_exact_where_they_can_be() -> None:
    assert integral(np.array([0.0, 2.0, 4.0]), 0.5) == pytest.approx([0.0, 0.5, 2.0])
    assert lowpassed(np.full(5, 7.0), 0.5, 6.0, 7.0) == pytest.approx(np.full(5, 7.0))
    assert lowpassed(np.full(12, 1.0), 0.5, 6.0, 0.0)[-1] == pytest.approx(1 - math.exp(-1), abs=1e-9)
