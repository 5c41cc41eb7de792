"""A house that works without a service: it answers what it was given and keeps what it was asked."""

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any

from fastapi import Request

from service.actions.numbers import compute
from service.errors import ConflictError, InvalidInputError, NotFoundError, Problem, StaleError
from service.plans.reading import plan_from_json
from tests.web import fake_chart, fake_compared, fake_rehearsal
from tests.web.fake_quiet import FakeQuiet
from tests.web.fakes import NOON
from web.bench import BenchView, EntryView
from web.chart import Curves, Story
from web.comparing import ComparisonView
from web.pages.batches import BatchLine, BatchView
from web.pages.calibration import CalibrationView, PastCalibration
from web.pages.first_steps import Progress
from web.pages.plans import PlanView
from web.pages.probes import Choice, ProbeView
from web.pages.settings import ChannelView, Trial
from web.pages.stove import StoveView
from web.rehearsing import RehearsalView
from web.views import AlarmState, AlarmView, Freshness, VesselView
from web.words import Taste

TOKEN = "the-token-of-this-visitor"


@dataclass(slots=True)
class FakeHouse(FakeQuiet):
    """Answers what it was given; acknowledging changes it as the service would."""

    vessels: list[VesselView] = field(default_factory=list)
    alarms: list[AlarmView] = field(default_factory=list)
    at: datetime | None = NOON
    past: list[AlarmView] = field(default_factory=list)
    hung: list[ProbeView] = field(default_factory=list)
    ways: list[ChannelView] = field(default_factory=list)
    brews: list[BatchView] = field(default_factory=list)
    stored: dict[str, tuple[dict[str, Any], int]] = field(default_factory=dict)
    plans: list[Choice] = field(default_factory=list)
    asked: list[tuple[str, dict[str, Any]]] = field(default_factory=list)
    led: dict[str, str] = field(default_factory=dict)
    record: BenchView = field(default_factory=BenchView)
    lines: list[PastCalibration] = field(default_factory=list)
    cooking: list[StoveView] = field(default_factory=list)
    told: Story = field(default_factory=Story)
    likes: Taste = field(default_factory=lambda: Taste(timezone="UTC"))
    visitor: str = "Attic"

    def now(self) -> datetime:
        return self.at if self.at is not None else datetime.now(UTC)

    def taste(self) -> Taste:
        return self.likes

    def form_token(self, request: Request) -> str:
        return TOKEN

    def admit(self, request: Request, token: str) -> str | None:
        return self.visitor if token == TOKEN else None

    def once(self) -> str:
        return secrets.token_urlsafe(12)

    def led_to(self, once: str) -> str | None:
        return self.led.get(once)

    def remember(self, once: str, path: str) -> None:
        self.led[once] = path

    def standing(self) -> Sequence[AlarmView]:
        return [a for a in self.alarms if a.state is not AlarmState.NORMAL]

    def vessels_now(self) -> Sequence[VesselView]:
        standing = self.standing()
        return [replace(v, standing=tuple(a for a in standing if a.vessel_id == v.id)) for v in self.vessels]

    def acknowledge(self, alarm_id: str, by: str, note: str) -> None:
        alarm = self._alarm(alarm_id)
        if alarm.state not in (AlarmState.UNACKNOWLEDGED, AlarmState.RETURNED):
            raise ConflictError(f"{alarm.title} was acknowledged already.")
        over = alarm.state is AlarmState.RETURNED
        state = AlarmState.NORMAL if over else AlarmState.ACKNOWLEDGED
        self._put(replace(alarm, state=state, acknowledged_at=self.now(), acknowledged_by=by))

    def past_alarms(self, cursor: str | None) -> tuple[Sequence[AlarmView], str | None]:
        start = int(cursor or 0)
        following = str(start + 2) if len(self.past) > start + 2 else None
        return self.past[start : start + 2], following

    def shelve(self, alarm_id: str, by: str, fields: Mapping[str, Any]) -> None:
        if not 60 <= fields.get("for_s", 0) <= 86400:
            raise InvalidInputError(Problem("/for_s", "is too long", "Shelve for a day at most."))
        until = self.now() + timedelta(seconds=fields["for_s"])
        self._put(replace(self._alarm(alarm_id), state=AlarmState.SHELVED, shelved_until=until))

    def unshelve(self, alarm_id: str, by: str) -> None:
        self._put(replace(self._alarm(alarm_id), state=AlarmState.UNACKNOWLEDGED, shelved_until=None))

    def probes(self) -> Sequence[ProbeView]:
        return self.hung

    def bus_sentence(self) -> str:
        return "The bus has one master; one sweep of all probes takes 0.8 s." if self.hung else ""

    def add_probe(self, by: str, fields: Mapping[str, Any]) -> None:
        if "topic" not in fields:
            raise InvalidInputError(Problem("/topic", "is missing", "Give the topic."))
        self.hung = [*self.hung, ProbeView("new", fields["label"], fields["source"], "waiting", "Waits.")]

    def read_room(self, by: str, vessel_id: str, temp_c: float) -> None:
        self.vessels = [replace(v, surroundings_c=temp_c) if v.id == vessel_id else v for v in self.vessels]

    def vessel_choices(self) -> Sequence[Choice]:
        return [Choice(v.id, v.name) for v in self.vessels]

    def place_probe(self, probe_id: str, by: str, fields: Mapping[str, Any]) -> None:
        probe = next((p for p in self.hung if p.id == probe_id), None)
        if probe is None:
            raise NotFoundError(f"There is no probe {probe_id}.")
        taken = any(p.vessel_id == fields["vessel_id"] and p.id != probe_id for p in self.hung)
        if fields["vessel_id"] and fields["role"] == "liquid" and taken:
            raise ConflictError("This vessel has a probe in its liquid already.")
        moved = replace(probe, label=fields["label"], vessel_id=fields["vessel_id"], role=fields["role"])
        self.hung = [moved if p.id == probe_id else p for p in self.hung]

    def calibration(self, probe_id: str) -> CalibrationView:
        probe = next((p for p in self.hung if p.id == probe_id), None)
        if probe is None:
            raise NotFoundError(f"There is no probe {probe_id}.")
        return CalibrationView(probe.id, probe.label, probe.last_c, probe.last_at, self.lines)

    def calibrate(self, probe_id: str, by: str, fields: Mapping[str, Any]) -> None:
        off_c = -fields["reading_c"]
        point = (fields["reading_c"], 0.0)
        self.lines.insert(0, PastCalibration(9, self.now(), self.now(), 1.0, off_c, 0.3, (point,)))

    def take_calibration_back(self, probe_id: str, n: int, by: str) -> None:
        self.lines = [line for line in self.lines if line.n != n]

    def add_vessel(self, by: str, fields: Mapping[str, Any]) -> str:
        if not 0 < fields.get("volume_l", 1) <= 1000:
            raise InvalidInputError(Problem("/volume_l", "is not between 0 and 1000", "Give it in litres."))
        self.asked.append(("vessel", dict(fields)))
        self.vessels.append(VesselView(fields["name"], fields["name"], fields["kind"], Freshness.NEVER))
        return str(fields["name"])

    def channels(self) -> Sequence[ChannelView]:
        return self.ways

    def add_channel(self, by: str, fields: Mapping[str, Any]) -> str:
        if fields["kind"] == "webhook" and "url" not in fields:
            raise InvalidInputError(Problem("/url", "is empty", "Give the address messages go to."))
        self.asked.append(("channel", dict(fields)))
        where = str(fields.get("url") or fields.get("host"))
        self.ways.append(ChannelView(str(len(self.ways)), fields["name"], fields["kind"], where))
        return self.ways[-1].id

    def change_channel(self, channel_id: str, by: str, fields: Mapping[str, Any]) -> None:
        way = next((way for way in self.ways if way.id == channel_id), None)
        if way is None:
            raise NotFoundError(f"There is no channel {channel_id}.")
        quiet = {day: (span["from"], span["to"]) for day, span in (fields["quiet_hours"] or {}).items()}
        changed = replace(way, least_priority=fields["least_priority"], quiet=quiet)
        self.ways = [changed if w.id == channel_id else w for w in self.ways]

    def try_channel(self, channel_id: str, by: str) -> Trial:
        if not any(way.id == channel_id for way in self.ways):
            raise NotFoundError(f"There is no channel {channel_id}.")
        way = next(way for way in self.ways if way.id == channel_id)
        return Trial(not way.failing, "connection refused" if way.failing else "200 OK", 40.0)

    def remove_channel(self, channel_id: str, by: str) -> None:
        self.ways = [way for way in self.ways if way.id != channel_id]

    def progress(self) -> Progress:
        placed = [p for p in self.hung if p.vessel_id]
        running = [b for b in self.brews if b.state == "running"]
        return Progress(
            len(self.hung),
            len(self.hung) - len(placed),
            len(self.vessels),
            len(placed),
            len(running),
            len(self.ways),
        )

    def batches(self) -> Sequence[BatchLine]:
        return [BatchLine(b.id, b.name, b.state, b.started_at, b.vessel_name) for b in self.brews]

    def batch(self, batch_id: str) -> BatchView:
        for brew in self.brews:
            if brew.id == batch_id:
                here = [v for v in self.vessels if v.batch_id == batch_id] or self.vessels
                return replace(brew, curves=fake_chart.curves(here[0], self.now(), 800)) if here else brew
        raise NotFoundError(f"There is no batch {batch_id}.")

    def plan_choices(self) -> Sequence[Choice]:
        return self.plans

    def plans_stored(self) -> Sequence[PlanView]:
        return [PlanView(i, p["name"], tuple(p["stages"]), str(v)) for i, (p, v) in self.stored.items()]

    def plan(self, plan_id: str) -> PlanView:
        if plan_id not in self.stored:
            raise NotFoundError(f"There is no plan {plan_id}.")
        plan, version = self.stored[plan_id]
        return PlanView(plan_id, plan["name"], tuple(plan["stages"]), str(version))

    def add_plan(self, by: str, plan: Mapping[str, Any]) -> str:
        plan_from_json(dict(plan))
        plan_id = f"plan-{len(self.stored)}"
        self.stored[plan_id] = (dict(plan), 1)
        return plan_id

    def change_plan(self, plan_id: str, by: str, plan: Mapping[str, Any], version: str) -> None:
        plan_from_json(dict(plan))
        if version != self.plan(plan_id).version:
            raise StaleError("It was changed.")
        self.stored[plan_id] = (dict(plan), int(version) + 1)

    def compared(self, ids: Sequence[str]) -> ComparisonView:
        return fake_compared.comparison([self.batch(batch_id) for batch_id in ids])

    def rehearse(self, fields: Mapping[str, Any]) -> RehearsalView:
        plan = plan_from_json(fields["plan"])
        if not fields.get("vessel_id") and not fields.get("volume_l"):
            raise InvalidInputError(Problem("/volume_l", "is not known", "Give the litres."))
        self.asked.append(("rehearse", dict(fields)))
        return fake_rehearsal.rehearsal(
            self.now(), [stage.key for stage in plan.stages], "wanted_at" in fields
        )

    def bench(self, batch_id: str) -> BenchView:
        self.batch(batch_id)
        return self.record

    def write_down(self, batch_id: str, name: str, by: str, fields: Mapping[str, Any]) -> None:
        self.batch(batch_id)
        if not 0.98 < fields.get("sg", 1.0) < 1.2:
            raise InvalidInputError(Problem("/sg", "is no gravity", "Write it like 1.048."))
        self.asked.append((name, dict(fields)))
        words = str(fields.get("text") or fields.get("what") or fields.get("by"))
        listed = self.record.listed(name)
        entry = EntryView(1 + max((e.n for e in listed), default=0), self.now(), words)
        self.record = replace(self.record, entries={**self.record.entries, name: (entry, *listed)})

    def entry(self, batch_id: str, name: str, n: int) -> Mapping[str, Any]:
        if not any(e.n == n for e in self.record.listed(name)):
            raise NotFoundError(f"There is no entry {n}.")
        return {
            "n": n,
            "at": "2026-11-25T08:00:00Z",
            "by": "hydrometer",
            "what": "foam-up",
            "text": "x",
            "units": [],
        }

    def put_right(self, batch_id: str, name: str, n: int, by: str, fields: Mapping[str, Any]) -> None:
        self.entry(batch_id, name, n)
        self.asked.append((f"{name}/{n}", dict(fields)))

    def write_figures(self, by: str, fields: Mapping[str, Any]) -> None:
        self.likes = Taste(fields["temperatures"], fields["clock"], self.likes.timezone, fields["gravity"])

    def strike_out(self, batch_id: str, name: str, n: int, by: str) -> None:
        listed = self.record.listed(name)
        if not any(e.n == n for e in listed):
            raise NotFoundError(f"There is no entry {n}.")
        left = tuple(e for e in listed if e.n != n)
        self.record = replace(self.record, entries={**self.record.entries, name: left})

    def prime(self, batch_id: str, fields: Mapping[str, Any]) -> Mapping[str, Any]:
        return compute("priming", {"volume_l": 5.0, "warmest_c": 21.0, **fields})

    def start_batch(self, by: str, fields: Mapping[str, Any]) -> str:
        if fields.get("og", 1.05) > 1.2:
            raise InvalidInputError(Problem("/og", "is above 1.2", "Write it like 1.048."))
        self.asked.append(("batch", dict(fields)))
        self.brews.append(BatchView(f"b{len(self.brews)}", fields["name"], "running", self.now(), ()))
        return self.brews[-1].id

    def advance(self, batch_id: str, by: str, fields: Mapping[str, Any]) -> None:
        self.batch(batch_id)
        if "at" in fields and datetime.fromisoformat(fields["at"]) > self.now():
            raise InvalidInputError(Problem("/at", "lies in the future", "Give a time that has passed."))
        self.asked.append(("advance", dict(fields)))

    def stove(self, batch_id: str) -> StoveView:
        for stove in self.cooking:
            if stove.id == batch_id:
                return stove
        raise NotFoundError(f"There is no batch {batch_id}.")

    def curves(self, batch_id: str, begins: datetime | None, ends: datetime | None, points: int) -> Curves:
        return fake_chart.curves(self._vessel_of(batch_id), self.now(), points)

    def story(self, batch_id: str, record: BenchView | None = None) -> Story:
        self._vessel_of(batch_id)
        return self.told

    def _vessel_of(self, batch_id: str) -> VesselView:
        for vessel in self.vessels:
            if vessel.batch_id == batch_id:
                return vessel
        self.batch(batch_id)
        return self.vessels[0]

    def undo(self, batch_id: str, by: str) -> None:
        self.batch(batch_id)
        self.asked.append(("undo", {}))

    def _alarm(self, alarm_id: str) -> AlarmView:
        for alarm in self.alarms:
            if alarm.id == alarm_id:
                return alarm
        raise NotFoundError(f"There is no alarm {alarm_id}.")

    def _put(self, alarm: AlarmView) -> None:
        self.alarms = [alarm if a.id == alarm.id else a for a in self.alarms]
