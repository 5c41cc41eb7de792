"""How carbonation grows in the bottle over the days, and when the first one is worth opening.

A stated model, not a measurement: after a short lag the priming sugar goes exponentially, faster when
warm. What is uncertain is the speed; each squeeze of a witness bottle (a soft plastic one, filled with the
others) narrows it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from service.brewing.bottle_pressure import USUAL_HEADSPACE_PERCENT, gauge_bar
from service.brewing.ranges import BEER_C, DAYS, VOLUMES, refuse_if, within
from service.brewing.working import Interval, Quantity, Working
from service.errors import InvalidInputError, Problem

LAG_DAYS = 1.0
"""Days at 20 C before gas is noticed; an estimate."""
TIME_CONSTANT_DAYS = 3.5
"""Days at 20 C in which the sugar left falls to 1/e; with it 82 % is gone after one week, 98 % after two
(common practice: one to three weeks warm)."""
Q10 = 2.5
"""How much faster per 10 C; an estimate, between 2 and 3.6."""
STOPS_BELOW_C = (2.0, 6.0)
"""Below the second the yeast slows further, below the first it stands; an estimate, C."""
SPEED_SD_LOG = 0.45
"""Standard deviation of the logarithm of a batch's speed: nine of ten lie within a factor of two."""
WORTH_OPENING_SHARE = 0.9
FIRM_AT_BAR = 0.8
FIRM_WIDTH_BAR = 0.2
"""Gauge pressure at which half of all thumbs call a bottle firm, and how soft that line is; an estimate."""
CURVE_DAYS = 28
_SPEEDS = tuple(-1.5 + 3.0 * n / 60 for n in range(61))


@dataclass(frozen=True, slots=True)
class Squeeze:
    """The witness bottle, so many days after bottling: firm or not."""

    days: float
    firm: bool


@dataclass(frozen=True, slots=True)
class CarbonationAt:
    """Carbonation on one day after bottling: volumes and their 90 % interval."""

    day: int
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Conditioning:
    """volumes: now, modelled. worth_opening_days: days after bottling until 90 % of the priming gas is
    there; its high end is the day on which a first bottle is hardly wasted. curve: day by day."""

    volumes: Interval
    worth_opening_days: Interval
    curve: tuple[CarbonationAt, ...]
    working: Working


def warm_days(temp_c: float, days: float) -> float:
    """Days at 20 C that are worth so many days at temp_c, C."""
    stands, slows = STOPS_BELOW_C
    awake = min(1.0, max(0.0, (temp_c - stands) / (slows - stands)))
    return float(days * awake * Q10 ** ((temp_c - 20.0) / 10.0))


def conditioning(
    *,
    residual_volumes: float,
    wanted_volumes: float,
    temp_c: float,
    days: float = 0.0,
    squeezes: Sequence[Squeeze] = (),
) -> Conditioning:
    """Carbonation now and on the days to come for bottles kept at temp_c.

    residual_volumes: held when bottled. wanted_volumes: with the sugar all gone. temp_c: the bottles'
    mean temperature since, C. days: since bottling. Bottles that stood at changing temperatures: give
    temp_c 20 and days as the sum of `warm_days`. Raises InvalidInputError.
    """
    refuse_if(
        within("/residual_volumes", residual_volumes, VOLUMES),
        within("/wanted_volumes", wanted_volumes, VOLUMES),
        within("/temp_c", temp_c, BEER_C),
        within("/days", days, DAYS),
        *(within(f"/squeezes/{n}/days", s.days, DAYS) for n, s in enumerate(squeezes)),
    )
    if wanted_volumes < residual_volumes:
        raise InvalidInputError(
            Problem(
                "/wanted_volumes",
                f"{wanted_volumes:g} volumes are less than the {residual_volumes:g} the beer held already.",
                "Check which is which.",
            )
        )
    if warm_days(temp_c, 1.0) < 0.02:
        raise InvalidInputError(
            Problem(
                "/temp_c",
                f"At {temp_c:g} C the yeast stands still and bottles do not carbonate.",
                "Keep them at 18 to 22 C for one to three weeks first.",
            )
        )
    gas = _Gas(residual_volumes, wanted_volumes - residual_volumes, temp_c)
    weights = _weights(gas, squeezes)
    curve = tuple(
        CarbonationAt(day, at.value, at.low, at.high)
        for day in range(CURVE_DAYS + 1)
        if (at := _quantiles([gas.volumes(day, speed) for speed in _SPEEDS], weights))
    )
    return Conditioning(
        volumes=_quantiles([gas.volumes(days, speed) for speed in _SPEEDS], weights),
        worth_opening_days=_quantiles(
            [gas.days_to(WORTH_OPENING_SHARE, speed) for speed in _SPEEDS], weights
        ),
        curve=curve,
        working=Working(
            formula=(
                "volumes = residual + primed x (1 - exp(-(w x speed - 1) / 3.5)), "
                "w = days x 2.5^((T - 20)/10), slower still below 6 C; "
                "the speed's spread narrowed by each squeeze (firm from about 0.8 bar)"
            ),
            inputs=(
                Quantity("residual", residual_volumes, "volumes"),
                Quantity("wanted", wanted_volumes, "volumes"),
                Quantity("bottles", temp_c, "C"),
                Quantity("days", days, "days"),
                Quantity("squeezes", float(len(squeezes))),
            ),
            source="a model of our own on common practice (one to three weeks warm); an estimate throughout",
            limits=(
                "Interval (90 %): a batch may be half or twice as fast. It takes the sugar as measured and "
                "the beer as finished: a bottle harder than this says is a warning. Chill before opening."
            ),
        ),
    )


@dataclass(frozen=True, slots=True)
class _Gas:
    residual: float
    primed: float
    temp_c: float

    def volumes(self, days: float, log_speed: float) -> float:
        grown = max(0.0, warm_days(self.temp_c, days) * math.exp(log_speed) - LAG_DAYS)
        return self.residual + self.primed * (1 - math.exp(-grown / TIME_CONSTANT_DAYS))

    def days_to(self, share: float, log_speed: float) -> float:
        at_20 = (LAG_DAYS - TIME_CONSTANT_DAYS * math.log(1 - share)) / math.exp(log_speed)
        return at_20 / warm_days(self.temp_c, 1.0)


def _weights(gas: _Gas, squeezes: Sequence[Squeeze]) -> list[float]:
    """Weight of each speed after the squeezes, summing to 1."""
    weights = []
    for log_speed in _SPEEDS:
        log_weight = -0.5 * (log_speed / SPEED_SD_LOG) ** 2
        for squeeze in squeezes:
            over = gauge_bar(
                gas.volumes(squeeze.days, log_speed), gas.temp_c, USUAL_HEADSPACE_PERCENT, headspace_air=False
            )
            towards = (over - FIRM_AT_BAR) / FIRM_WIDTH_BAR * (1.0 if squeeze.firm else -1.0)
            # A thumb errs now and then: no squeeze may rule a speed out for good.
            log_weight += math.log(0.03 + 0.97 / (1 + math.exp(-max(-40.0, min(40.0, towards)))))
        weights.append(math.exp(log_weight))
    total = sum(weights)
    return [weight / total for weight in weights]


def _quantiles(values: list[float], weights: list[float]) -> Interval:
    ordered = sorted(zip(values, weights, strict=True))
    return Interval(*(_quantile(ordered, share) for share in (0.5, 0.05, 0.95)))


def _quantile(ordered: list[tuple[float, float]], share: float) -> float:
    """Quantile of weighted points, with a straight line between their middles."""
    below = 0.0
    previous_value, previous_at = ordered[0][0], 0.0
    for value, weight in ordered:
        at = below + weight / 2
        if at >= share:
            if at == previous_at:
                return value
            return previous_value + (value - previous_value) * (share - previous_at) / (at - previous_at)
        below += weight
        previous_value, previous_at = value, at
    return ordered[-1][0]
