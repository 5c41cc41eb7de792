"""Taking up where the last run ended: the minute that was filling, the last hour, how long nobody watched."""

from datetime import datetime, timedelta

from sqlalchemy import Connection

from sensors.sample import ProbeId, Sample
from service.record.database import Record
from service.record.facts import Probe
from service.record.marks import read_mark
from service.record.minutes import minutes_of
from service.record.types import EPOCH
from service.watch.committing import LAST_COMMIT, ClockLike
from service.watch.fold import minute_of, resume
from service.watch.house import House
from service.watch.intake import Intake
from service.watch.typed import HOLDS, TYPED

RECENT = timedelta(hours=1)


def last_commit(connection: Connection) -> datetime | None:
    """When an earlier run committed last; None on a first start."""
    last = read_mark(connection, LAST_COMMIT)
    return None if last is None else datetime.fromisoformat(last)


def took_up(intake: Intake, record: Record, house: House, clock: ClockLike) -> None:
    """Give the intake the last hour of each probe, so that trends go on, and the minute to be resumed.

    Nothing of it counts as heard now: a probe has to speak again before it is believed to be there. Only
    what was typed in stands on for its hours.
    """
    now = clock.now()
    this_minute = minute_of(now)
    with record.reading() as connection:
        for probe in house.probes.values():
            if probe.source == TYPED:
                _read_by_hand(intake, connection, house, probe, now)
                continue
            for row in minutes_of(connection, probe.number, minute_of(now - RECENT), this_minute + 1):
                if row.minute == this_minute and probe.source not in ("pushed", "mqtt"):
                    intake.open[probe.number, True] = resume(row)
                    continue
                at = EPOCH + timedelta(minutes=row.minute, seconds=30)
                raw_c = row.mean_mc / 1000
                sample = Sample(ProbeId(probe.id), at, raw_c, house.calibrated(probe.id, raw_c, at))
                intake.remember(sample)


def _read_by_hand(intake: Intake, connection: Connection, house: House, probe: Probe, now: datetime) -> None:
    for row in minutes_of(connection, probe.number, minute_of(now - HOLDS), minute_of(now) + 1)[-1:]:
        at = min(EPOCH + timedelta(minutes=row.minute), now)
        raw_c = row.mean_mc / 1000
        sample = Sample(ProbeId(probe.id), at, raw_c, house.calibrated(probe.id, raw_c, at))
        intake.take_pushed(sample, (now - at).total_seconds())
