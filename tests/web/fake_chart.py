"""The chart of the invented vessels: a day of curves, and a story with something of everything."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta

from tests.web import fakes
from tests.web.fakes import NOON, H
from web.chart import BandPart, Curves, GravityPoint, Line, Moment, Story, Stretch
from web.views import AheadPoint, ProgressView, VesselView

MOST = 289


def curves(vessel: VesselView, now: datetime, points: int) -> Curves:
    """One day in buckets of five minutes, whatever was asked for."""
    brown = vessel.id == "bucket"
    last = vessel.at or now
    temp, low, high = (fakes.cellar_c, 18.5, 21.5) if brown else (fakes.shed_c, 18.0, 21.0)
    times = [now - timedelta(days=1) + n * fakes.STEP for n in range(min(points, MOST))]

    def absent(at: datetime) -> bool:
        return at > last or (brown and fakes.missing(at, now))

    def line(probe_id: str, role: str, of: Callable[[datetime], float], spread: float) -> Line:
        means = [None if absent(at) else of(at) for at in times]
        return Line(
            probe_id,
            role,
            means,
            [None if m is None else m - spread for m in means],
            [None if m is None else m + spread for m in means],
        )

    out = runs([at for at in times if not low <= temp(at) <= high and not absent(at)])
    return Curves(
        begins=times[0],
        step_s=300,
        count=len(times),
        lines=[
            line("28-00000a1b2c3d", "liquid", temp, 0.06),
            line("28-00000a1b2c3e", "surroundings", fakes.room_c, 0.15),
        ],
        band=[BandPart(now - timedelta(days=3), now + timedelta(days=4), low, high)],
        gaps=[Stretch(run[0], run[-1]) for run in runs([at for at in times if absent(at)])],
        strays=[Stretch(run[0], run[-1]) for run in out],
    )


def story(now: datetime = NOON) -> Story:
    """What is told of the larger vessel's batch."""
    start = fakes.cellar_c(now)
    return Story(
        ahead=[
            AheadPoint(
                now + n * H, start + 0.05 * n, start + 0.05 * n - 0.1 * n**0.5, start + 0.08 * n, 18.5, 21.5
            )
            for n in range(49)
        ],
        leaves_band_at=now + 33 * H,
        estimates=[
            GravityPoint(now - h * H, sg, sg - 0.0015, sg + 0.0015)
            for h, sg in ((h, 1.014 + 0.0005 * h) for h in range(66, -1, -1))
        ],
        readings=[
            GravityPoint(now - 66 * H, 1.048, 1.047, 1.049, "Hydrometer: 1.0480 SG at 20.0 C"),
            GravityPoint(now - 18 * H, 1.0242, 1.0231, 1.0253, "Hydrometer: 1.0240 SG at 21.0 C"),
        ],
        stages=[Moment(now - 72 * H, "mash"), Moment(now - 70 * H, "primary")],
        moments=[
            Moment(now - 40 * H, "Dry hops: 12 g"),
            Moment(now - 30 * H, "Foam has fallen"),
            Moment(now - 2 * H, "Moved it one stair down, where it is cooler."),
        ],
    )


def runs(times: list[datetime]) -> list[list[datetime]]:
    """Times that follow each other in one step, together."""
    found: list[list[datetime]] = []
    for at in times:
        if found and at - found[-1][-1] == fakes.STEP:
            found[-1].append(at)
        else:
            found.append([at])
    return found


def further(vessel: VesselView) -> VesselView:
    """The vessel with its fermentation gone on."""
    return replace(vessel, progress=ProgressView("Working, past its peak.", 0.71, 0.66, 0.76))
