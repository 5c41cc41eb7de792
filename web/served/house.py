"""The desk in the shape the pages ask for. Nothing is decided here: values are looked up and handed on."""

import secrets
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from fastapi import Request
from sqlalchemy import Connection

from service.access.keys import same
from service.access.who import WHO, Who
from service.actions import alarms as alarm_actions
from service.actions import batches as batch_actions
from service.actions import vessels as vessel_actions
from service.actions.answers import AlarmAnswer, VesselAnswer
from service.actions.desk import Desk
from service.alarms.catalogue import CATALOGUE
from service.plans.course import bands_between
from service.plans.kinds import KINDS
from service.record.estimates import kept_estimates
from service.record.minutes import Bucket, buckets
from service.record.types import EPOCH
from service.watch.fold import minute_of
from service.watch.house import LiveBatch, line_at
from service.watch.judge import band_now
from web.scale import WAKE
from web.served.foreseen import ahead_of, leaving_of, next_of, progress_of
from web.served.outlook import Beside, Outlooks
from web.served.shared import Shared
from web.views import (
    AlarmState,
    AlarmView,
    BandView,
    Freshness,
    HourRow,
    StageView,
    TimedWords,
    TrackPoint,
    VesselView,
)
from web.words import Taste

TRAIL = WAKE
TRAIL_STEP_MIN = 5
MOST_STANDING = 200


class DeskHouse:
    """What every page asks of the running service."""

    def __init__(self, desk: Desk, beside: Beside | None = None) -> None:
        self._desk = desk
        self._token = secrets.token_urlsafe(24)
        self._outlooks = Outlooks(desk, beside)
        self._vessels = Shared(self._look)

    def now(self) -> datetime:
        """The present, aware UTC."""
        return self._desk.now()

    def taste(self) -> Taste:
        """How this brewer wants values written."""
        chosen = self._desk.watch.notation
        return Taste(chosen.temperatures, chosen.clock, str(self._desk.zone), chosen.gravity)

    def form_token(self, request: Request) -> str:
        """The token that forms must bring back; a page of another site cannot read it.

        Each session has its own; before there are accounts, this run of the program has one.
        """
        who: Who | None = request.scope.get(WHO)
        return self._token if who is None or who.form_token is None else who.form_token

    def admit(self, request: Request, token: str) -> str | None:
        """Who sends this form, or None when it did not come from one of our own pages."""
        if not same(token, self.form_token(request)):
            return None
        who: Who | None = request.scope.get(WHO)
        return alarm_actions.SOMEBODY if who is None else who.name

    def standing(self) -> Sequence[AlarmView]:
        """Every alarm that is not normal."""
        now = self._desk.now()
        found = alarm_actions.some_alarms(self._desk, True, None, MOST_STANDING, None)
        return [self._alarm(one, now) for one in found]

    def anyone_told(self) -> bool:
        """Whether the brewer would hear of an alarm: a helper's channel speaks only during an absence."""
        return any(not channel.for_helper for channel in self._desk.watch.house.channels)

    def acknowledge(self, alarm_id: str, by: str, note: str) -> None:
        """Mark an alarm as seen."""
        alarm_actions.acknowledge_alarm(self._desk, alarm_id, note or None, by)

    def vessels_now(self) -> Sequence[VesselView]:
        """Every vessel as it is now: those with something to watch first, each group oldest first."""
        return self._vessels.get()

    def _look(self) -> Sequence[VesselView]:
        now = self._desk.now()
        standing = self.standing()
        views = [
            self._vessel(one, [alarm for alarm in standing if alarm.vessel_id == one.id], now)
            for one in reversed(vessel_actions.every_vessel(self._desk))
        ]
        return sorted(views, key=lambda v: (v.batch_id is None, v.freshness is Freshness.NEVER))

    def _alarm(self, one: AlarmAnswer, now: datetime) -> AlarmView:
        vessel = self._desk.watch.house.vessels.get(one.vessel_id or "")
        title = CATALOGUE[one.key].title
        return AlarmView(
            id=one.id,
            key=one.key,
            title=title[:1].upper() + title[1:],
            state=_shown(one, now),
            priority=one.priority,
            raised_at=one.raised_at or now,
            reason=one.reason,
            consequence=one.consequence,
            advice=one.advice,
            vessel_id=one.vessel_id,
            vessel_name=None if vessel is None else vessel.name,
            batch_id=one.batch_id,
            respond_by=one.respond_by,
            acknowledged_at=one.acknowledged_at,
            acknowledged_by=one.acknowledged_by,
            returned_at=one.returned_at,
            shelved_until=one.shelved_until,
            suppressed_by=one.suppressed_by,
            unknown_since=one.unknown_since,
        )

    def _vessel(self, one: VesselAnswer, standing: list[AlarmView], now: datetime) -> VesselView:
        house = self._desk.watch.house
        live = house.batch_in(one.id, now)
        liquid = house.probe_of(one.id, "liquid", now)
        seen = None if live is None else self._outlooks.of(live.row.id, live.row.version)
        leave_until, leave_words = leaving_of(seen)
        stage = _stage(live, now)
        sight = None if liquid is None else self._desk.watch.sight(liquid.id, now)
        last_c, last_at = (None, None) if sight is None else (sight.last_c, sight.at)
        with self._desk.record.reading() as connection:
            if liquid is not None and last_c is None:
                last_c, last_at = self._last_stored(connection, liquid.id, now)
            trail = self._trail(connection, None if liquid is None else liquid.id, live, now)
            kept = [] if live is None else kept_estimates(connection, live.row.id)
            day = self._day(connection, None if liquid is None else liquid.id, now)
        return VesselView(
            id=one.id,
            name=one.name,
            kind=one.kind,
            freshness=self._freshness(None if liquid is None else liquid.id, last_at),
            temp_c=last_c,
            at=last_at,
            band=None
            if one.now.batch_id is None
            else BandView(one.now.target_c, one.now.low_c, one.now.high_c),
            stage=stage,
            batch_id=one.now.batch_id,
            batch_name=None if live is None else live.row.name,
            surroundings_c=one.now.surroundings_c,
            surroundings_note=one.now.surroundings_note,
            trend_c_per_h=one.now.trend_c_per_h,
            leaves_band_at=one.now.leaves_band_at,
            trail=trail,
            ahead=ahead_of(seen),
            day=day,
            progress=progress_of(kept, now),
            next_step=next_of(_next_step(live, now), seen, stage, now),
            leave_until=leave_until,
            bands_wait_until=self._desk.watch.bands_wait_until(one.id, now),
            leave_words=leave_words,
            standing=tuple(standing),
        )

    def _freshness(self, probe_id: str | None, last_at: datetime | None) -> Freshness:
        watch = self._desk.watch
        if probe_id is None or (last_at is None and watch.sight(probe_id, self._desk.now()) is None):
            return Freshness.NEVER
        if watch.is_silent(probe_id):
            return Freshness.SILENT
        return Freshness.LATE if watch.is_late(probe_id) else Freshness.FRESH

    def _last_stored(
        self, connection: Connection, probe_id: str, now: datetime
    ) -> tuple[float | None, datetime | None]:
        """The newest minute of the last week, for a probe that has not spoken in this run."""
        number = self._desk.watch.house.probes[probe_id].number
        rows = buckets(connection, number, minute_of(now) - 7 * 1440, minute_of(now) + 1, 1)
        if not rows:
            return None, None
        at = _at(rows[-1].start_minute)
        return self._calibrated(probe_id, rows[-1].mean_mc, at), at

    def _calibrated(self, probe_id: str, raw_mc: float, at: datetime) -> float:
        line = line_at(self._desk.watch.house.lines.get(probe_id, ()), at)
        return raw_mc / 1000 if line is None else line.slope * raw_mc / 1000 + line.offset_c

    def _trail(
        self, connection: Connection, probe_id: str | None, live: LiveBatch | None, now: datetime
    ) -> tuple[TrackPoint, ...]:
        if probe_id is None:
            return ()
        number = self._desk.watch.house.probes[probe_id].number
        last = minute_of(now) + 1
        first = minute_of(now - TRAIL) // TRAIL_STEP_MIN * TRAIL_STEP_MIN
        found = {b.start_minute: b for b in buckets(connection, number, first, last, TRAIL_STEP_MIN)}
        spans = [] if live is None else bands_between(live.plan, live.course, now - TRAIL, now)
        points = []
        for start in range(first, last, TRAIL_STEP_MIN):
            at = _at(start) + timedelta(minutes=TRAIL_STEP_MIN) / 2
            span = next((s for s in spans if s.from_at <= at < s.to_at), None)
            bucket = found.get(start)
            points.append(
                TrackPoint(
                    at=min(at, now),
                    temp_c=None if bucket is None else self._calibrated(probe_id, bucket.mean_mc, at),
                    low_c=None if span is None else span.low_c,
                    high_c=None if span is None else span.high_c,
                )
            )
        return tuple(points)

    def _day(self, connection: Connection, probe_id: str | None, now: datetime) -> tuple[HourRow, ...]:
        if probe_id is None:
            return ()
        number = self._desk.watch.house.probes[probe_id].number
        last = minute_of(now) + 1
        first = (minute_of(now) // 60 - 23) * 60
        found: Mapping[int, Bucket] = {
            b.start_minute: b for b in buckets(connection, number, first, last, 60)
        }
        return tuple(self._hour(probe_id, start, found.get(start)) for start in range(first, last, 60))

    def _hour(self, probe_id: str, start: int, bucket: Bucket | None) -> HourRow:
        at = _at(start)
        if bucket is None:
            return HourRow(at, None, None, None)
        mean, low, high = (
            self._calibrated(probe_id, value, at) for value in (bucket.mean_mc, bucket.min_mc, bucket.max_mc)
        )
        return HourRow(at, mean, low, high)


def _at(minute: int) -> datetime:
    return EPOCH + timedelta(minutes=minute)


def _shown(one: AlarmAnswer, now: datetime) -> AlarmState:
    if one.state == "normal":
        return AlarmState.NORMAL
    if one.shelved_until is not None and one.shelved_until > now:
        return AlarmState.SHELVED
    if one.suppressed_by is not None:
        return AlarmState.SUPPRESSED
    return AlarmState(one.state)


def _stage(live: LiveBatch | None, now: datetime) -> StageView | None:
    here = None if live is None else band_now(live, now)
    if here is None:
        return None
    stage, step, _ = here
    return StageView(
        key=stage.key,
        kind=stage.kind.value,
        entered_at=step.entered_at,
        ends_at=step.due_at,
        note=ENDS_IN_WORDS[stage.ends.value],
        kettle=KINDS[stage.kind].kettle,
    )


ENDS_IN_WORDS = {
    "time": "ends by itself",
    "brewer": "ends when you say so",
    "reached": "ends when its band is reached",
    "share": "ends when enough has fermented, and you say so",
    "steady-gravity": "ends when gravity is steady, and you say so",
}


def _next_step(live: LiveBatch | None, now: datetime) -> TimedWords | None:
    if live is None:
        return None
    answer = batch_actions.batch_answer(live, now)
    if answer.due:
        return TimedWords(answer.due[-1].at, answer.due[-1].say)
    return None
