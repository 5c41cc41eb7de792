"""Gathering evidence: from what is live and what is recorded to what the judge looks at."""

import shutil
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import Connection

from sensors.sample import FaultKind
from service.record.facts import Probe
from service.record.minutes import buckets
from service.record.outbox import channel_facts
from service.watch.evidence import ProbeEvidence
from service.watch.fold import minute_of
from service.watch.house import House
from service.watch.intake import Intake
from service.watch.live import LiveProbe
from service.watch.typed import TYPED

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
SLOPE_OVER = timedelta(minutes=2)


def interval_of(probe: Probe, sweep_s: float) -> float:
    """Seconds between two values of a probe."""
    return probe.interval_s if probe.interval_s is not None else sweep_s


def probe_evidence(
    intake: Intake,
    house: House,
    silent: Mapping[str, bool],
    day_ago: Mapping[str, float],
    plateaus: Mapping[str, float],
    sweep_s: float,
    now: datetime,
) -> dict[str, ProbeEvidence]:
    """What is known of every probe of the house at this moment."""
    return {
        probe_id: _of_probe(intake, probe, silent[probe_id], day_ago, plateaus, sweep_s, now)
        for probe_id, probe in house.probes.items()
    }


def _of_probe(
    intake: Intake,
    probe: Probe,
    silent: bool,
    day_ago: Mapping[str, float],
    plateaus: Mapping[str, float],
    sweep_s: float,
    now: datetime,
) -> ProbeEvidence:
    interval_s = interval_of(probe, sweep_s)
    seen = intake.live.get(probe.id)
    last = None if seen is None else seen.last
    temp_c = None if last is None or silent else last.temp_c
    looked_s = min(intake.up_s(), HOUR.total_seconds())
    return ProbeEvidence(
        temp_c=temp_c,
        last_at=None if last is None else last.at,
        last_c=None if last is None else last.temp_c,
        silent_s=intake.silence_s(probe.id),
        interval_s=interval_s,
        looks_1h=None if probe.source in ("pushed", TYPED) else max(1, int(looked_s / interval_s)),
        faults_1h={} if seen is None else seen.faults_within(now, HOUR),
        trend_c_per_h=None if seen is None else seen.trend_c_per_h(),
        slope_c_per_min=None if seen is None else seen.slope_c_per_min(SLOPE_OVER),
        same_for_s=_same_for_s(seen, silent, now),
        frozen_after_s=intake.limits.frozen_after_s,
        day_ago_c=day_ago.get(probe.id),
        plateau_c=plateaus.get(probe.id),
    )


def _same_for_s(seen: LiveProbe | None, silent: bool, now: datetime) -> float | None:
    """For how long a frozen probe has stood still; 0 for one that is believed, None where it is silent."""
    fault = None if seen is None else seen.last_fault
    if seen is None or fault is None or fault.kind is not FaultKind.FROZEN or seen.still_since is None:
        return None if silent else 0.0
    if seen.last is not None and seen.last.at >= fault.at:
        return 0.0
    return (now - seen.still_since).total_seconds()


def read_day_ago(connection: Connection, house: House, now: datetime) -> dict[str, float]:
    """The mean of the hour around a day ago, of each probe that has one."""
    found = {}
    middle = minute_of(now - DAY)
    for probe in house.probes.values():
        parts = buckets(connection, probe.number, middle - 30, middle + 30, 1440 * 60)
        if parts and sum(part.minutes for part in parts) >= 30:
            raw_mc = sum(part.mean_mc * part.minutes for part in parts) / sum(part.minutes for part in parts)
            found[probe.id] = house.calibrated(probe.id, raw_mc / 1000, now - DAY)
    return found


def read_stuck(
    connection: Connection, house: House, now: datetime
) -> dict[str, tuple[str, float | None, str]]:
    """By channel: its name, for how long its oldest message has failed, and what the far end said."""
    stuck = {}
    for channel in house.channels:
        facts = channel_facts(connection, channel.id)
        since = facts["failing_since"]
        stuck_s = None if since is None else (now - since).total_seconds()
        stuck[channel.id] = (channel.name, stuck_s, str(facts["far_end"] or ""))
    return stuck


def free_bytes(folder: Path | None) -> int | None:
    """Room left where the record lies; None when that is not known."""
    if folder is None:
        return None
    try:
        return shutil.disk_usage(folder).free
    except OSError:
        return None
