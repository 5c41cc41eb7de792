"""Noise as a random walk plus white noise, and the filter that makes it white. Worker process only."""

import numpy as np

from service.thermal.arrays import Flags, Floats

FIRST_THETA, FIRST_SIGMA = -0.3, 0.012
MODEL_LACKS = 1.8
"""The scatter is taken this much larger, for what the model lacks: it fits better and its intervals hold."""

LEAST_SIGMA = 0.012
"""However quiet the room, the model itself is no better than this, in kelvin."""


def whitener(present: Flags, theta: float) -> Floats:
    """Matrix that turns the rows present into innovations e[k] = r[k] - r[k-1] - theta e[k-1].

    After a gap the walk has gone on unseen, so that the first row behind it counts for less.
    """
    where = np.flatnonzero(present)
    n = len(where)
    response = np.zeros(2 * n)
    response[0] = 1.0
    response[1:n] = np.power(-theta, np.arange(1, n)) - np.power(-theta, np.arange(n - 1))
    filtered: Floats = response[np.arange(n)[:, None] - np.arange(n)[None, :]]
    return filtered / _gap_spread(where, theta)[:, None]


def _gap_spread(where: np.ndarray[tuple[int, ...], np.dtype[np.int64]], theta: float) -> Floats:
    missed = np.diff(where, prepend=where[:1] - 1) - 1
    spread: Floats = np.sqrt(1 + missed * (1 + theta) ** 2)
    return spread


def innovations(residual: Floats, present: Flags, theta: float) -> Floats:
    """The same for one series, by the recursion itself."""
    out, before, e = [], 0.0, 0.0
    for value in residual.tolist():
        e = value - before - theta * e
        before = value
        out.append(e)
    return np.array(out) / _gap_spread(np.flatnonzero(present), theta)


def chosen(residual: Floats, present: Flags) -> tuple[float, float]:
    """theta by likelihood with a weak prior around -0.4, and sigma, from a first fit's residuals."""
    best, theta, sigma = -np.inf, FIRST_THETA, FIRST_SIGMA
    for guess in np.linspace(0.0, -0.88, 12).tolist():
        e = innovations(residual, present, guess)[2:]
        spread = _spread(e)
        score = -len(e) * np.log(spread) - 0.5 * ((guess + 0.4) / 0.25) ** 2
        if score > best:
            best, theta, sigma = score, guess, spread
    return theta, max(LEAST_SIGMA, sigma) * MODEL_LACKS


def _spread(e: Floats) -> float:
    robust = 1.4826 * float(np.median(np.abs(e)))
    return max(1e-4, 0.7 * robust + 0.3 * float(np.sqrt(np.mean(e**2))))
