"""What a brewer would know of an invented batch at some hour: the input of an estimate."""

from datetime import UTC, datetime, timedelta

import numpy as np

from benchmarks.twins.batch import Floats, Twin
from service.thermal.inputs import EstimateInput, GravityReading, Mounting, ReadBy, Span, Switch, Trace

PITCHED = datetime(2026, 3, 1, 12, tzinfo=UTC)
OG_ERROR_PT, READING_ERROR_PT, WEIGHING_ERROR_PT = 1.0, 0.7, 0.4


def told_og(twin: Twin) -> float:
    """The original gravity as read, with a point of error."""
    rng = np.random.default_rng([twin.seed, 77])
    return round(twin.og + rng.normal(0, OG_ERROR_PT) / 1000, 4)


def hydrometer(twin: Twin, hour: float, number: int = 0) -> GravityReading:
    """A hydrometer reading with 0.7 points of error."""
    rng = np.random.default_rng([twin.seed, 78, number, round(hour)])
    sg = twin.sg_at(hour) + rng.normal(0, READING_ERROR_PT) / 1000
    return GravityReading(PITCHED + timedelta(hours=hour), round(sg, 4))


def weighing(twin: Twin, hour: float) -> GravityReading:
    """What the scales say of the drop, as a gravity below the told original one."""
    rng = np.random.default_rng([twin.seed, 79, round(hour)])
    drop = twin.og - twin.sg_at(hour) + rng.normal(0, WEIGHING_ERROR_PT) / 1000
    return GravityReading(PITCHED + timedelta(hours=hour), round(told_og(twin) - drop, 5), ReadBy.WEIGHT)


def limit_jar(twin: Twin, hour: float) -> GravityReading:
    """A limit jar read at an hour."""
    rng = np.random.default_rng([twin.seed, 80])
    sg = twin.final_sg + rng.normal(0, READING_ERROR_PT) / 1000
    return GravityReading(PITCHED + timedelta(hours=hour), round(sg, 4), ReadBy.LIMIT_JAR)


def given(
    twin: Twin,
    hour: float,
    readings: tuple[GravityReading, ...] = (),
    tell_cooling: bool = False,
    tell_heater: bool = False,
) -> EstimateInput:
    """Everything known at `hour`. Moves are told; cooling and a heater's record only when asked."""
    n = round(hour * 60)
    minutes = tuple(range(n))
    return EstimateInput(
        at=PITCHED + timedelta(hours=hour),
        pitched_at=PITCHED,
        og=told_og(twin),
        volume_l=round(twin.volume_l, 1),
        beer=Trace(PITCHED, minutes, tuple(twin.beer_c[:n].tolist())),
        air=Trace(PITCHED, minutes, tuple(twin.air_c[:n].tolist())),
        mounting=Mounting(twin.mounting),
        wall=twin.wall,
        readings=readings,
        moves=(PITCHED + timedelta(hours=twin.moved_h),) if twin.moved_h is not None else (),
        cooled=(Span(PITCHED + timedelta(hours=twin.cooled_h)),)
        if tell_cooling and twin.cooled_h is not None
        else (),
        heater=tuple(Switch(PITCHED + timedelta(hours=h), on) for h, on in twin.heater)
        if tell_heater
        else (),
    )


def hourly(values: Floats, hour: int) -> list[float | None]:
    """Hourly means up to an hour."""
    return [float(v) for v in values[: hour * 60].reshape(hour, 60).mean(axis=1)]
