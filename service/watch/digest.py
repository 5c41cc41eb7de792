"""One message a day with how everything is, for a channel that wants it."""

from collections.abc import Collection, Mapping
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from service.alarms.catalogue import CATALOGUE
from service.alarms.model import AlarmState
from service.alarms.wording import ITSELF, Text
from service.alarms.words import Units, clock, degrees
from service.plans.course import dues
from service.record.database import Record
from service.record.marks import read_mark, set_mark
from service.record.outbox import add_message
from service.watch.house import House
from service.watch.judge import band_now
from service.watch.shapes import alarm_shape

MARK = "digest:"
REASON = "digest"


def day_due(digest_at: str, zone: ZoneInfo, now: datetime) -> date:
    """The last day whose digest has come due by the brewer's clock.

    digest_at: "08:00". What could not be sent in time (the machine was off) is sent later, once. A time
    that the clock skips in spring comes an hour later; one that it shows twice counts the first time.
    """
    local = now.astimezone(zone)
    return local.date() if f"{local:%H:%M}" >= digest_at else local.date() - timedelta(days=1)


def compose_digest(
    house: House,
    states: Collection[AlarmState],
    temps: Mapping[str, float | None],
    zone: ZoneInfo,
    units: Units,
    link_base: str | None,
    now: datetime,
) -> Text:
    """What stands, each vessel now, and what its stage asks. temps: by probe, None when silent."""
    standing = sorted((s for s in states if s.standing), key=lambda s: -s.priority.rank)
    count = len(standing)
    title = (
        "nothing stands"
        if not count
        else f"{count} alarm{'' if count == 1 else 's'} stand{'s' * (count == 1)}"
    )
    lines = [f"- {_alarm(house, state, zone, now)}" for state in standing]
    parts = [f"Alarms that stand: {count or 'none'}."] + (["\n".join(lines)] if lines else [])
    vessels = [_vessel(house, vessel_id, temps, zone, units, now) for vessel_id in house.vessels]
    parts += ["\n".join(["Vessels now:", *vessels])] if vessels else []
    parts += [f"See {link_base.rstrip('/')}/"] if link_base else []
    return Text(f"{ITSELF}, {now.astimezone(zone):%a %H:%M}: {title}", "\n\n".join(parts))


def _alarm(house: House, state: AlarmState, zone: ZoneInfo, now: datetime) -> str:
    vessel = house.vessels.get(state.subject.vessel_id or "")
    name = ITSELF if vessel is None else vessel.name
    since = "" if state.raised_at is None else f", since {clock(state.raised_at, zone, now)}"
    seen = f", acknowledged by {state.acknowledged_by}" if state.acknowledged_by else ""
    unknown = state.unknown_since if state.cause_stands else None
    then = "" if unknown is None else f"; nothing is known of it since {clock(unknown, zone, now)}"
    return f"{name}: {CATALOGUE[state.subject.key].title}: {state.reason}{then} ({state.core}{since}{seen})"


def _vessel(
    house: House,
    vessel_id: str,
    temps: Mapping[str, float | None],
    zone: ZoneInfo,
    units: Units,
    now: datetime,
) -> str:
    vessel = house.vessels[vessel_id]
    probe = house.probe_of(vessel_id, "liquid", now)
    temp_c = None if probe is None else temps.get(probe.id)
    seen = "no probe" if probe is None else "no reading" if temp_c is None else degrees(temp_c, units)
    words = [f"- {vessel.name}: {seen}"]
    live = house.batch_in(vessel_id, now)
    here = None if live is None else band_now(live, now)
    if live is None or here is None:
        return words[0] + "."
    stage, step, band = here
    words.append(f"{live.row.name} in {stage.key}")
    if band.low_c is not None and band.high_c is not None:
        words.append(f"band {degrees(band.low_c, units)} to {degrees(band.high_c, units)}")
    if step.due_at is not None:
        words.append(f"due {clock(step.due_at, zone, now)}")
    asked = [due.say.rstrip(".") for due in dues(live.plan, live.course, now)]
    return ", ".join(words) + "." + "".join(f" {say}." for say in asked)


class Digests:
    """Remembers for each channel the day of its last digest, and sends today's when its time has come."""

    def __init__(self, record: Record, zone: ZoneInfo) -> None:
        self._record = record
        self._zone = zone
        self._last: dict[str, date] = {}

    def send(
        self,
        house: House,
        states: Collection[AlarmState],
        temps: Mapping[str, float | None],
        units: Units,
        link_base: str | None,
        now: datetime,
    ) -> int:
        """Put today's digests into the outbox, each together with its day; returns how many."""
        due: dict[str, date] = {}
        for channel in house.channels:
            if channel.digest_at is not None:
                day = day_due(channel.digest_at, self._zone, now)
                if self._last_of(channel.id, day) < day:
                    due[channel.id] = day
        if not due:
            return 0
        text = compose_digest(house, states, temps, self._zone, units, link_base, now)
        message = {
            "reason": REASON,
            "title": text.title,
            "text": text.body,
            "alarms": [alarm_shape(state, state.alarm_id) for state in states if state.standing],
            "vessel": "",
            "at": now,
        }

        def work(connection: Connection) -> None:
            for channel_id, day in due.items():
                add_message(connection, channel_id, "low", None, message, now)
                set_mark(connection, MARK + channel_id, day.isoformat())

        self._record.write(work)
        self._last |= due
        return len(due)

    def _last_of(self, channel_id: str, day: date) -> date:
        """The day of the last one. A channel that is new here owes none and begins with the next."""
        if channel_id not in self._last:
            with self._record.reading() as connection:
                kept = read_mark(connection, MARK + channel_id)
            if kept is None:
                self._record.write(
                    lambda connection: set_mark(connection, MARK + channel_id, day.isoformat())
                )
            self._last[channel_id] = day if kept is None else date.fromisoformat(kept)
        return self._last[channel_id]
