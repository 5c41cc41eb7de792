"""The curve toward a bath: how fast, which targets it reaches and when.

Newton's law with one time constant, fitted to the samples for every bath temperature that could be;
the answers are weighted over those fits, so that the interval holds what the bath leaves open.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.brewing.newton_fit import Fit, fit_toward, mixture_quantile
from service.brewing.ranges import BATH_C, TARGET_C, WORT_C, refuse_if, within
from service.brewing.working import Interval, Quantity, Working
from service.errors import InvalidInputError, Problem

BATH_SD_C = 0.5
"""How far a given bath temperature may be off, C: it is not the same everywhere and it warms."""
LEAST_CHANGE_C = 1.0
MOST_SAMPLES = 10_000
FITTED_SAMPLES = 240
REACHABLE_MARGIN_C = 0.2
"""A target closer to the bath than this is not reached in any useful time, C."""
UNKNOWN_BATHS = 61


@dataclass(frozen=True, slots=True)
class CoolingSample:
    """A temperature (C) of the wort at an aware time."""

    at: datetime
    temp_c: float


@dataclass(frozen=True, slots=True)
class CoolingTarget:
    """When temp_c is reached (aware times, 90 % interval); None: not at all, or no end can be given."""

    temp_c: float
    at: datetime | None
    low: datetime | None
    high: datetime | None
    reachable: bool


@dataclass(frozen=True, slots=True)
class Cooling:
    """The fitted curve. tau_s: time constant in seconds, with its 90 % interval in tau.

    bath_c: the bath it runs toward as the samples see it.
    """

    tau_s: float
    tau: Interval
    bath_c: Interval
    targets: tuple[CoolingTarget, ...]
    working: Working


def cooling(
    *, samples: Sequence[CoolingSample], targets_c: Sequence[float], bath_c: float | None = None
) -> Cooling:
    """Fits Newton's law to samples taken since the bath was last changed or stirred differently.

    bath_c: temperature of the bath, C; None when it is not measured, then the curve itself must tell.
    targets_c: temperatures asked for, C. Works for warming as well. Raises InvalidInputError, also when
    there are too few samples or hardly any change yet.
    """
    ordered = checked_samples(samples, targets_c, bath_c)
    start = ordered[0].at
    times_s = [(s.at - start).total_seconds() for s in ordered]
    temps_c = [s.temp_c for s in ordered]
    down = temps_c[0] > temps_c[-1]
    fits = fits_of(times_s, temps_c, bath_c, down=down)
    tau = _interval([(f.weight, f.tau_s, f.tau_sd_s) for f in fits])
    return Cooling(
        tau_s=tau.value,
        tau=tau,
        bath_c=_interval([(f.weight, f.bath_c, 0.05) for f in fits]),
        targets=tuple(
            _target(target_c, fits, start, temps_c[0], down=down, sure=0.5 if bath_c is not None else 0.1)
            for target_c in targets_c
        ),
        working=Working(
            formula="T(t) = bath + A exp(-t/tau), least squares; time to target = tau ln(A/(target - bath))",
            inputs=(
                Quantity("samples", float(len(samples))),
                Quantity("over", times_s[-1], "s"),
                Quantity("bath", bath_c, "C"),
            ),
            source="Newton's law of cooling",
            limits=(
                f"One bath, equally stirred; the bath is taken to be {BATH_SD_C} C uncertain "
                "(standard deviation). A bath that warms makes it slower: measure it again."
            ),
        ),
    )


def checked_samples(
    samples: Sequence[CoolingSample], targets_c: Sequence[float], bath_c: float | None
) -> list[CoolingSample]:
    """The samples in order of time, few enough to fit. InvalidInputError: no curve can be told of them."""
    refuse_if(
        *(within(f"/samples/{n}/temp_c", s.temp_c, WORT_C) for n, s in enumerate(samples)),
        *(
            Problem(f"/samples/{n}/at", "The time has no offset.", "Give it with Z or +hh:mm.")
            for n, s in enumerate(samples)
            if s.at.utcoffset() is None
        ),
        *(within(f"/targets_c/{n}", target_c, TARGET_C) for n, target_c in enumerate(targets_c)),
        None if bath_c is None else within("/bath_c", bath_c, BATH_C),
        None
        if len(samples) <= MOST_SAMPLES
        else Problem("/samples", f"There are more than {MOST_SAMPLES} samples.", "Give fewer."),
    )
    ordered = sorted(samples, key=lambda s: s.at)
    if len(ordered) < 4 or (ordered[-1].at - ordered[0].at).total_seconds() <= 0:
        raise InvalidInputError(
            Problem("/samples", "There are fewer than four samples over time.", "Wait for a few more.")
        )
    change_c = ordered[-1].temp_c - ordered[0].temp_c
    if abs(change_c) < LEAST_CHANGE_C:
        raise InvalidInputError(
            Problem(
                "/samples",
                f"The temperature has changed by {abs(change_c):.1f} C only: too little to tell a curve.",
                f"Wait until it has changed by {LEAST_CHANGE_C:g} C.",
            )
        )
    if bath_c is not None and (bath_c - ordered[-1].temp_c) * change_c <= 0:
        raise InvalidInputError(
            Problem(
                "/bath_c",
                f"The wort is at {ordered[-1].temp_c:.1f} C and moves away from a bath of {bath_c:.1f} C.",
                "Check which probe is in the bath, and give samples from when this bath began.",
            )
        )
    step = max(1, math.ceil(len(ordered) / FITTED_SAMPLES))
    return ordered[::step] if ordered[-1] in ordered[::step] else [*ordered[::step], ordered[-1]]


def fits_of(times_s: list[float], temps_c: list[float], bath_c: float | None, *, down: bool) -> list[Fit]:
    """The curve for each bath temperature that could be, with weights that sum to 1."""
    extreme_c = min(temps_c) if down else max(temps_c)
    sign = -1.0 if down else 1.0
    if bath_c is None:
        reach_c = extreme_c - BATH_C.low if down else 60.0
        # Fine steps near the newest sample, where a bath matters most, coarse ones far away.
        steps_c = [0.1 + (reach_c - 0.1) * (n / (UNKNOWN_BATHS - 1)) ** 2 for n in range(UNKNOWN_BATHS)]
        candidates = [(extreme_c + sign * step_c, 1.0 + 2 * n) for n, step_c in enumerate(steps_c)]
    else:
        candidates = [(bath_c + BATH_SD_C * (n / 5), math.exp(-0.5 * (n / 5) ** 2)) for n in range(-12, 13)]
        inside = [c for c in candidates if (c[0] - extreme_c) * sign > 0.05]
        candidates = inside or [(extreme_c + sign * 0.1, 1.0)]
    fits = [fit_toward(times_s, temps_c, candidate_c, prior) for candidate_c, prior in candidates]
    noise_c = max(0.05, math.sqrt(min(f.square_sum for f in fits) / max(1, len(times_s) - 2)))
    least = min(f.square_sum for f in fits)
    # Neighbouring samples share their errors (stirring, drift): count one in four as independent.
    weighted = [f.scaled(noise_c, math.exp(-(f.square_sum - least) / (2 * noise_c**2) / 4)) for f in fits]
    total = sum(f.weight for f in weighted)
    return [f.with_weight(f.weight / total) for f in weighted if f.weight > 1e-6 * total]


def _interval(parts: list[tuple[float, float, float]]) -> Interval:
    low, middle, high = (mixture_quantile(parts, q) for q in (0.05, 0.5, 0.95))
    # The weights' parts are all finite here, so every quantile exists.
    return Interval(middle or 0.0, low or 0.0, high or 0.0)


def _target(
    target_c: float, fits: list[Fit], start: datetime, first_c: float, *, down: bool, sure: float
) -> CoolingTarget:
    """sure: a target is called unreachable when less than this share of the fits gets there."""
    past = target_c >= first_c if down else target_c <= first_c
    if past:
        return CoolingTarget(target_c, start, start, start, reachable=True)
    parts = []
    for fit in fits:
        reach = fit.time_to(target_c, REACHABLE_MARGIN_C)
        if reach is not None:
            parts.append((fit.weight, reach[0], reach[1]))
    reachable = sum(weight for weight, _, _ in parts) >= sure
    if not reachable:
        return CoolingTarget(target_c, None, None, None, reachable=False)
    low, middle, high = (mixture_quantile(parts, q) for q in (0.05, 0.5, 0.95))
    return CoolingTarget(
        target_c, _moment(start, middle), _moment(start, low), _moment(start, high), reachable=True
    )


def _moment(start: datetime, seconds: float | None) -> datetime | None:
    # A year is no time for a wort: beyond it the curve says nothing.
    if seconds is None or seconds > 365 * 86400:
        return None
    return start + timedelta(seconds=max(0.0, seconds))
