"""Array types and the few filters that every thermal module shares. Worker process only."""

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


def integral(values: Floats, step_h: float) -> Floats:
    """Running integral by trapezoids, zero at the first value, along the first axis."""
    out = np.zeros_like(values)
    out[1:] = np.cumsum((values[1:] + values[:-1]) * (step_h / 2), axis=0)
    return out


def lowpassed(values: Floats, step_h: float, memory_h: float, begun_at: float) -> Floats:
    """First-order low-pass with the given memory in hours, begun at a value."""
    keep = math.exp(-step_h / memory_h)
    out = np.empty_like(values)
    state = begun_at
    for k, value in enumerate(values.tolist()):
        state = keep * state + (1 - keep) * value
        out[k] = state
    return out


def running_mean(values: Floats, n: int) -> Floats:
    """Mean over the last n values (fewer at the start)."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    last = np.arange(1, len(values) + 1)
    first = np.maximum(last - n, 0)
    mean: Floats = (total[last] - total[first]) / (last - first)
    return mean
