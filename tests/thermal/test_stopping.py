"""A fermentation that stops early: what the stories say of it, and what the interval leaves open."""

import math

import numpy as np
import pytest

from service.thermal.bins import binned
from service.thermal.case import SHAPE, make_case
from service.thermal.columns import thermal_columns
from service.thermal.estimate import estimate
from service.thermal.heatcurve import warped
from service.thermal.hypotheses import CUTS, FADES, NONE, NORMAL, Hypothesis, capped, uncapped
from service.thermal.inputs import GravityReading
from service.thermal.noise import whitener
from service.thermal.residuals import Residuals
from service.thermal.results import Verdict
from tests.thermal.build import PITCHED, batch, known


def test_a_capped_share_follows_the_curve_and_then_stays() -> None:
    share = np.linspace(0, 1, 101)

    held = capped(share, 0.6)

    assert held[:45] == pytest.approx(share[:45], abs=1e-4)
    assert held[75:] == pytest.approx(0.6, abs=1e-3)
    assert np.all(np.diff(held) >= 0)


def test_uncapping_undoes_the_cap() -> None:
    share = np.linspace(0.05, 0.62, 30)

    assert uncapped(capped(share, 0.6), np.full(30, 0.6)) == pytest.approx(share, abs=1e-6)


@pytest.mark.parametrize("story", [NORMAL, FADES[1], CUTS[1], NONE])
def test_the_slopes_are_those_of_the_residuals(story: Hypothesis) -> None:
    made = batch(hours=96)
    given = known(made, 96, readings=(GravityReading(PITCHED, made.og - 0.01),))
    assert given.beer is not None
    assert given.air is not None
    bins = binned(given.beer, given.air, PITCHED, 96)
    assert bins is not None
    z = warped(bins.beer, bins.step_h)
    case = make_case(bins, z, thermal_columns(bins, given, made.volume_l), given, 1.0)
    residuals = Residuals(case, story, whitener(case.present, -0.3), 0.02)
    p = residuals.mean + 0.3 * residuals.sd * np.sin(np.arange(len(residuals.mean)))

    _, slopes = residuals.at(p, True)

    assert slopes is not None
    # Those along the shape are differences along a table of straight pieces themselves.
    for k in range(case.n_linear + SHAPE):
        step = np.zeros_like(p)
        step[k] = 1e-5
        numeric = (residuals.at(p + step, False)[0] - residuals.at(p - step, False)[0]) / 2e-5
        assert slopes[:, k] == pytest.approx(numeric, abs=1e-3 + 1e-3 * float(np.abs(numeric).max()))


def test_heat_that_is_cut_is_possibly_stopped_and_the_interval_holds() -> None:
    made = batch(stops_at=0.55)

    answer = estimate(known(made, 150))

    assert answer.verdict is Verdict.POSSIBLY_STOPPED
    assert answer.gravity is not None
    assert answer.gravity.low < made.sg[149] < answer.gravity.high
    assert answer.weights is not None
    assert answer.weights.stopped_early > 0.92


@pytest.mark.parametrize("hour", [84, 96, 108, 132, 156])
def test_a_healthy_beer_near_its_end_is_never_called_possibly_stopped(hour: int) -> None:
    answer = estimate(known(batch(), hour))

    assert answer.verdict in (Verdict.SLOWING, Verdict.ENDED)
    assert answer.weights is not None
    total = answer.weights.normal + answer.weights.stopped_early + answer.weights.not_started
    assert math.isclose(total, 1.0, abs_tol=1e-3)
