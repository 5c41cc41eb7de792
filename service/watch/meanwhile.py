"""What the beer did while nobody watched: the measured ends of the gap and, marked so, a model of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from service.alarms.words import Units, clock, degrees
from service.errors import GylewatchError
from service.record.estimates import kept_estimates
from service.record.facts import Batch, Probe
from service.record.minutes import buckets
from service.record.types import EPOCH
from service.thermal.forecast import STEP_H, Coefficients, coefficients, run
from service.thermal.jobs import estimate_from
from service.thermal.results import ThermalFacts
from service.watch.evidence import ProbeEvidence
from service.watch.fold import minute_of
from service.watch.house import House

LOOK_BACK_MIN = 60
FRESH = timedelta(minutes=1)
FACTS_LAST = timedelta(hours=6)
MOST_MODELLED = timedelta(days=7)
USUAL_VOLUME_L = 5.0


@dataclass(frozen=True, slots=True)
class Ends:
    """What a probe measured last before the gap and first after it, C."""

    before_c: float
    after_c: float


@dataclass(frozen=True, slots=True)
class Between:
    """What the model says of a gap: the coldest and the warmest beer, C, and when it was warmest."""

    low_c: float
    high_c: float
    warmest_at: datetime


def measured_ends(
    connection: Connection,
    house: House,
    probes: Mapping[str, ProbeEvidence],
    units: Units,
    zone: ZoneInfo,
    down_s: float,
    now: datetime,
) -> str:
    """Of each vessel with a batch, what was measured last before the gap and first after it.

    Where an estimate from before the gap and the surroundings are known, what the beer did in between too.
    """
    gone = now - timedelta(seconds=down_s)
    said = []
    for vessel in house.vessels.values():
        live = house.batch_in(vessel.id, now)
        beer = _ends(connection, house, probes, house.probe_of(vessel.id, "liquid", now), gone, now)
        if live is None or beer is None:
            continue
        ends = f"{degrees(beer.before_c, units)} before and {degrees(beer.after_c, units)} after"
        air = _ends(connection, house, probes, house.probe_of(vessel.id, "surroundings", now), gone, now)
        c = _known_before(connection, house, vessel.id, live.row, gone)
        model = ""
        if air is not None and c is not None and timedelta(0) < now - gone <= MOST_MODELLED:
            model = f" (modelled: {_told(between(c, beer, air, gone, now), units, zone, now)})"
        said.append(f"{vessel.name} measured {ends}{model}")
    return "; ".join(said)


def between(c: Coefficients, beer: Ends, air: Ends, gone: datetime, back: datetime) -> Between:
    """The beer of a gap whose ends were measured. c: as of `gone`.

    The surroundings are taken to have gone straight from one end to the other; what the model misses at the
    far end is spread evenly over the gap, so that it meets both measured ends.
    """
    hours = (back - gone).total_seconds() / 3600
    steps = max(1, round(hours / STEP_H))
    shares = [k / steps for k in range(steps + 1)]
    airs = [air.before_c + share * (air.after_c - air.before_c) for share in shares]
    ran = run(c, beer.before_c, airs, 0.0)
    missed = beer.after_c - ran[-1]
    temps = [temp + share * missed for temp, share in zip(ran, shares, strict=True)]
    warmest = max(range(steps + 1), key=lambda k: temps[k])
    return Between(min(temps), temps[warmest], gone + shares[warmest] * (back - gone))


def _told(found: Between, units: Units, zone: ZoneInfo, now: datetime) -> str:
    low, high = degrees(found.low_c, units), degrees(found.high_c, units)
    if low == high:
        return f"about {high} in between"
    return f"{low} to {high} in between, warmest about {clock(found.warmest_at, zone, now)}"


def _ends(
    connection: Connection,
    house: House,
    probes: Mapping[str, ProbeEvidence],
    probe: Probe | None,
    gone: datetime,
    now: datetime,
) -> Ends | None:
    if probe is None:
        return None
    seen, minute = probes.get(probe.id), minute_of(gone)
    rows = buckets(connection, probe.number, minute - LOOK_BACK_MIN, minute + 2, 1)
    if not rows or seen is None or seen.temp_c is None or seen.last_at is None:
        return None
    if now - seen.last_at > FRESH:
        return None
    at = EPOCH + timedelta(minutes=rows[-1].start_minute)
    return Ends(house.calibrated(probe.id, rows[-1].mean_mc / 1000, at), seen.temp_c)


def _known_before(
    connection: Connection, house: House, vessel_id: str, row: Batch, gone: datetime
) -> Coefficients | None:
    """What a forecast would have started from when the gap began; None: nothing so late of this vessel."""
    kept = kept_estimates(connection, row.id)
    if not kept or not timedelta(0) <= gone - kept[0].at <= FACTS_LAST:
        return None
    facts = _facts_in(kept[0].body)
    then = house.batch_in(vessel_id, kept[0].at)
    if facts is None or then is None or then.row.id != row.id:
        return None
    c = coefficients(row.volume_l or USUAL_VOLUME_L, row.og, facts, None)
    gone_by = int((gone - kept[0].at).total_seconds() // 3600)
    heat = c.heat_kh[min(gone_by, len(c.heat_kh) - 1) :] if c.heat_kh else ()
    return Coefficients(
        c.tau_h, c.tau_spread_ln, c.excess_c, c.excess_spread_c, heat, c.heat_spread, c.share_seen
    )


def _facts_in(body: Mapping[str, Any]) -> ThermalFacts | None:
    """What a kept estimate says of the vessel. One that cannot be read, of an earlier release or a damaged
    file, tells nothing here: the watch must begin all the same."""
    try:
        return estimate_from(body).thermal
    except (KeyError, TypeError, ValueError, GylewatchError):
        return None
