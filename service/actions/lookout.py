"""Looking at the batches again and again: estimates kept, the watch told, open pages told."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection

from service.actions.ahead import advice, flat, look_ahead
from service.actions.desk import Desk
from service.actions.insight import answer_of, computed, told_of
from service.actions.known import temperatures, vessel_at
from service.actions.replay import Replayed, replay
from service.actions.summary import scores_name
from service.alarms.rules import Heading, Side
from service.plans.course import current, elapse, stage_of
from service.plans.kinds import KINDS, StageKind
from service.plans.model import Ends
from service.record.batches import batch_by_id, batches
from service.record.entries import entries
from service.record.estimates import KeptEstimate, keep_estimate, kept_estimates
from service.record.facts import Batch
from service.record.marks import read_mark, set_mark
from service.watch.fold import minute_of
from service.watch.house import LiveBatch, live_batch
from service.watch.insights import APART, TOGETHER, confirming, insight_from
from service.watch.offprobe import LOOK_BACK_MIN, Off, looked_at, off_from
from service.watch.typed import TYPED

HEADING_H = 24
EARLIER = timedelta(hours=4)
SURE_AFTER = timedelta(hours=15)
"""From so long after pitching on an earlier moment is estimated too, where none confirms the newest."""

HUNG_LATELY = timedelta(hours=2)


@dataclass
class Lookout:
    """What the fits' part has looked at; see `service.watch.fits.Looker`."""

    desk: Desk
    _ended: set[str] = field(default_factory=set)
    """Ended batches that were estimated once more and replayed."""

    def wanted(self) -> Mapping[str, object]:
        """Batches that ferment, and ended ones until they have been looked at once more and scored."""
        now, found = self.desk.now(), {}
        with self.desk.record.reading() as connection:
            for row in batches(connection):
                if row.id in self._ended:
                    continue
                live = live_batch(row)
                if _ferments(live, now):
                    found[row.id] = told_of(connection, row)
                elif row.state != "running" and live.course.pitched_at is not None:
                    if read_mark(connection, scores_name(row.id)) is not None:
                        self._ended.add(row.id)
                    else:
                        found[row.id] = row.state
        return found

    def look(self, batch_id: str) -> None:
        """Estimate a batch now, keep the answer, and tell who listens."""
        desk = self.desk
        now = desk.now()
        with desk.record.reading() as connection:
            row = batch_by_id(connection, batch_id)
        fresh = [computed(desk, row, now)]
        if self._wants_an_earlier(row, now):
            fresh.insert(0, computed(desk, row, now - EARLIER))

        def work(connection: Connection) -> None:
            for body in fresh:
                keep_estimate(connection, batch_id, datetime.fromisoformat(body["at"]), body)

        desk.record.write(work)
        if not _ferments(live_batch(row), now):
            self._score(batch_id, now)
        else:
            told = answer_of(fresh[-1]).model_dump(mode="json", by_alias=True)
            desk.watch.broker.publish("estimate", {"batch_id": batch_id, **told})

    def _score(self, batch_id: str, now: datetime) -> None:
        """Keep how far forecasts and estimates of an ended batch could have been trusted."""
        desk = self.desk
        on = Replayed(desk.record, desk.watch.house, desk.zone, desk.worker)
        scores = replay(on, batch_id, now).model_dump(mode="json")
        desk.record.write(lambda c: set_mark(c, scores_name(batch_id), scores))

    def _wants_an_earlier(self, row: Batch, now: datetime) -> bool:
        pitched = live_batch(row).course.pitched_at
        if row.state != "running" or pitched is None or now - pitched < SURE_AFTER:
            return False
        with self.desk.record.reading() as connection:
            kept = kept_estimates(connection, row.id, now - TOGETHER, 100)
        return confirming([KeptEstimate(now, {}), *kept]) is None

    def glance(self) -> None:
        """Tell the watch of every unfinished batch what estimates, forecast and minutes say."""
        desk = self.desk
        now = desk.now()
        for live in desk.watch.house.batches:
            with desk.record.reading() as connection:
                kept = kept_estimates(connection, live.row.id, now - TOGETHER - APART, 100)
                readings = [e.at for e in entries(connection, live.row.id, "readings") if e.at <= now]
                heading = _heading(desk, connection, live.row, now)
                off = self._off(connection, live, now)
            insight = insight_from(
                kept,
                now,
                heading,
                None if off is None else off[1] is not None,
                max(readings, default=None),
                _is_cooled(live, now),
                _wanted_share(live, now),
            )
            if off is not None:
                self._remember(*off)
            desk.watch.tell_insight(live.row.id, insight)

    def _off(self, connection: Connection, live: LiveBatch, now: datetime) -> tuple[str, Off | None] | None:
        """The batch's liquid probe, and whether it is off; None where that cannot be told."""
        house = self.desk.watch.house
        vessel_id = vessel_at(live.row, now)
        probe = None if vessel_id is None else house.probe_of(vessel_id, "liquid", now)
        if vessel_id is None or probe is None or _in_the_kettle(live, now):
            return None
        hung = house.assigned(now, probe.id)
        hung_at = None if hung is None else hung.from_at
        if hung_at is not None and now - hung_at < HUNG_LATELY:
            return probe.id, None
        here = [(vessel_id, now - timedelta(minutes=LOOK_BACK_MIN), now)]
        liquid, air = (
            _by_minute(temperatures(connection, house, here, role), now)
            for role in ("liquid", "surroundings")
        )
        if not any(a is not None for a in air):
            return None
        before = off_from(read_mark(connection, f"adrift:{probe.id}"))
        room = house.probe_of(vessel_id, "surroundings", now)
        by_hand = room is not None and room.source == TYPED
        return probe.id, looked_at(before, liquid, air, hung_at, now, by_hand)

    def _remember(self, probe_id: str, off: Off | None) -> None:
        name, value = f"adrift:{probe_id}", None if off is None else off.to_json()
        with self.desk.record.reading() as connection:
            if read_mark(connection, name) == value:
                return
        self.desk.record.write(lambda c: set_mark(c, name, value))


def _ferments(live: LiveBatch, now: datetime) -> bool:
    course = elapse(live.plan, live.course, now)
    step = current(course)
    if step is None or live.row.state != "running" or course.pitched_at is None:
        return False
    return course.pitched_at <= now


def _in_the_kettle(live: LiveBatch, now: datetime) -> bool:
    step = current(elapse(live.plan, live.course, now))
    return step is None or KINDS[stage_of(live.plan, step).kind].kettle


def _is_cooled(live: LiveBatch, now: datetime) -> bool:
    step = current(elapse(live.plan, live.course, now))
    return step is not None and stage_of(live.plan, step).kind is StageKind.CRASH


def _wanted_share(live: LiveBatch, now: datetime) -> float | None:
    step = current(elapse(live.plan, live.course, now))
    stage = None if step is None else stage_of(live.plan, step)
    return stage.share if stage is not None and stage.ends is Ends.SHARE else None


def _by_minute(means: Mapping[int, float], now: datetime) -> Sequence[float | None]:
    ends = minute_of(now)
    return [means.get(m) for m in range(ends - LOOK_BACK_MIN, ends)]


def _heading(desk: Desk, connection: Connection, row: Batch, now: datetime) -> Heading | None:
    """Where the forecast goes; None where there is none worth the name."""
    ahead = look_ahead(desk.watch.house, desk.zone, connection, row, now, HEADING_H)
    if not ahead.points or flat(ahead):
        return None
    if ahead.leaves is None or ahead.outside:
        return Heading(None)
    leaves_at, way = ahead.leaves
    span = ahead.span_at(leaves_at)
    side = Side.WARM if way == "warm" else Side.COLD
    limit: Any = None if span is None else (span.high_c if side is Side.WARM else span.low_c)
    first = next((a.sentence for a in advice(row, ahead)), None)
    return Heading(leaves_at, side, limit, first)
