"""What the beer did while nobody watched: the measured ends of the gap; between them nothing is known."""

from collections.abc import Mapping
from datetime import datetime, timedelta

from sqlalchemy import Connection

from service.alarms.words import Units, degrees
from service.record.minutes import buckets
from service.record.types import EPOCH
from service.watch.evidence import ProbeEvidence
from service.watch.fold import minute_of
from service.watch.house import House

LOOK_BACK_MIN = 60
FRESH = timedelta(minutes=1)


def measured_ends(
    connection: Connection,
    house: House,
    probes: Mapping[str, ProbeEvidence],
    units: Units,
    down_s: float,
    now: datetime,
) -> str:
    """Of each vessel with a batch, what was measured last before the gap and first after it."""
    gone = minute_of(now - timedelta(seconds=down_s))
    said = []
    for vessel in house.vessels.values():
        probe = house.probe_of(vessel.id, "liquid", now)
        if probe is None or house.batch_in(vessel.id, now) is None:
            continue
        seen = probes.get(probe.id)
        rows = buckets(connection, probe.number, gone - LOOK_BACK_MIN, gone + 2, 1)
        if not rows or seen is None or seen.temp_c is None or seen.last_at is None:
            continue
        if now - seen.last_at > FRESH:
            continue
        at = EPOCH + timedelta(minutes=rows[-1].start_minute)
        last_c = house.calibrated(probe.id, rows[-1].mean_mc / 1000, at)
        ends = f"{degrees(last_c, units)} before and {degrees(seen.temp_c, units)} after"
        said.append(f"{vessel.name} measured {ends}")
    return "; ".join(said)
