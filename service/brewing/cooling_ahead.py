"""Where wort that cools toward its surroundings or a bath will be: Newton's law, carried on."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from service.brewing.cooling import CoolingSample, checked_samples, fits_of
from service.brewing.newton_fit import mixture_quantile
from service.brewing.working import Interval

SENSOR_SD_C = 0.1
"""Of a single value beside the fitted curve, C."""


@dataclass(frozen=True, slots=True)
class CoolingAhead:
    """The temperatures asked for, C, with 90 % intervals; tau_s and bath_c: the curve's, in the middle."""

    temps_c: tuple[Interval, ...]
    tau_s: float
    bath_c: float


def cooling_ahead(
    *, samples: Sequence[CoolingSample], ahead_s: Sequence[float], bath_c: float | None = None
) -> CoolingAhead:
    """Carries the curve through the samples on.

    ahead_s: seconds after the newest sample. bath_c: what it cools toward, C; None when that is not measured.
    Raises InvalidInputError where the samples tell no curve, as `cooling` does.
    """
    ordered = checked_samples(samples, (), bath_c)
    start = ordered[0].at
    times_s = [(s.at - start).total_seconds() for s in ordered]
    temps_c = [s.temp_c for s in ordered]
    fits = fits_of(times_s, temps_c, bath_c, down=temps_c[0] > temps_c[-1])
    found = []
    for ahead in ahead_s:
        at = times_s[-1] + ahead
        parts = []
        for fit in fits:
            above_c = fit.amplitude_c * math.exp(-fit.rate_per_s * at)
            share = fit.var_log_amplitude - 2 * at * fit.covariance + at**2 * fit.var_rate
            sd_c = math.hypot(above_c * math.sqrt(max(0.0, share)), SENSOR_SD_C)
            parts.append((fit.weight, fit.bath_c + above_c, sd_c))
        low, middle, high = (mixture_quantile(parts, q) for q in (0.05, 0.5, 0.95))
        assert low is not None
        assert middle is not None
        assert high is not None
        found.append(Interval(middle, low, high))
    best = max(fits, key=lambda fit: fit.weight)
    return CoolingAhead(tuple(found), best.tau_s, best.bath_c)
