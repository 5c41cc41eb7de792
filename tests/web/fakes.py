"""A house that works without a service: two invented vessels, their temperatures plain functions of time."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

from fastapi import Request

from service.errors import ConflictError, NotFoundError
from web.views import (
    AheadPoint,
    AlarmState,
    AlarmView,
    BandView,
    Freshness,
    HourRow,
    ProgressView,
    StageView,
    TimedWords,
    TrackPoint,
    VesselView,
)
from web.words import Taste

NOON = datetime(2026, 11, 25, 12, 5, 20, tzinfo=UTC)
TOKEN = "the-token-of-this-visitor"
H = timedelta(hours=1)
STEP = timedelta(minutes=5)


@dataclass(slots=True)
class FakeHouse:
    """Answers what it was given; acknowledging changes it as the service would."""

    vessels: list[VesselView] = field(default_factory=list)
    alarms: list[AlarmView] = field(default_factory=list)
    at: datetime | None = NOON
    likes: Taste = field(default_factory=lambda: Taste(timezone="UTC"))
    visitor: str = "Robin"

    def now(self) -> datetime:
        return self.at if self.at is not None else datetime.now(UTC)

    def taste(self) -> Taste:
        return self.likes

    def form_token(self, request: Request) -> str:
        return TOKEN

    def admit(self, request: Request, token: str) -> str | None:
        return self.visitor if token == TOKEN else None

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

    def _alarm(self, alarm_id: str) -> AlarmView:
        for alarm in self.alarms:
            if alarm.id == alarm_id:
                return alarm
        raise NotFoundError(f"There is no alarm {alarm_id}.")

    def _put(self, alarm: AlarmView) -> None:
        self.alarms = [alarm if a.id == alarm.id else a for a in self.alarms]


def cellar_c(at: datetime) -> float:
    """Temperature of the larger vessel: a slow rise with a wave of a day on it."""
    day = (at.timestamp() % 86400) / 86400
    return 19.9 + 0.9 * math.sin(2 * math.pi * (day - 0.45)) + 0.08 * math.sin(2 * math.pi * 9.3 * day)


def shed_c(at: datetime) -> float:
    """Temperature of the smaller vessel: above its band since the early morning."""
    day = (at.timestamp() % 86400) / 86400
    return 20.7 + 1.5 * math.sin(2 * math.pi * (day - 0.3))


def room_c(at: datetime) -> float:
    """Temperature of the room around both."""
    day = (at.timestamp() % 86400) / 86400
    return 17.6 + 1.6 * math.sin(2 * math.pi * (day - 0.35))


def missing(at: datetime, now: datetime) -> bool:
    """Whether nothing was measured then: one stretch of 80 minutes, some hours ago."""
    return timedelta(hours=5) < now - at < timedelta(hours=6, minutes=20)


def larger(now: datetime = NOON) -> VesselView:
    """A vessel that is well, with everything known about it."""
    band = BandView(target_c=20.0, low_c=18.5, high_c=21.5)
    trail = tuple(
        TrackPoint(at, None if missing(at, now) else cellar_c(at), 18.5, 21.5)
        for at in (now - 12 * H + n * STEP for n in range(145))
    )
    start = cellar_c(now)
    ahead = tuple(
        AheadPoint(at, start + 0.08 * n, start + 0.04 * n, start + 0.13 * n, 18.5, 21.5)
        for n, at in ((n, now + n * H / 2) for n in range(25))
    )
    return VesselView(
        id="bucket",
        name="Bucket by the stairs",
        kind="fermenter",
        freshness=Freshness.FRESH,
        temp_c=round(cellar_c(now) * 16) / 16,
        at=now - timedelta(seconds=4),
        band=band,
        stage=StageView("primary", "primary", now - 70 * H, now + 146 * H, "ends when readings are steady"),
        batch_id="brown-2026-11-22",
        batch_name="Winter brown",
        surroundings_c=17.2,
        trend_c_per_h=0.12,
        leaves_band_at=now + 15 * H,
        trail=trail,
        ahead=ahead,
        day=day_rows(now),
        progress=ProgressView("Working, past its peak.", 0.62, 0.55, 0.70),
        next_step=TimedWords(now + 26 * H, "Take a reading"),
        leave_until=TimedWords(now + 14 * H, "then it may rise out of its band"),
    )


def smaller(now: datetime = NOON) -> VesselView:
    """A vessel above its band."""
    trail = tuple(
        TrackPoint(at, shed_c(at), 18.0, 21.0) for at in (now - 12 * H + n * STEP for n in range(145))
    )
    return VesselView(
        id="demijohn",
        name="Demijohn",
        kind="fermenter",
        freshness=Freshness.FRESH,
        temp_c=round(shed_c(now) * 16) / 16,
        at=now - timedelta(seconds=7),
        band=BandView(target_c=19.5, low_c=18.0, high_c=21.0),
        stage=StageView("primary", "primary", now - 30 * H, now + 90 * H),
        batch_id="pale-2026-11-24",
        batch_name="Small pale",
        trend_c_per_h=0.21,
        trail=trail,
        day=tuple(HourRow(now - n * H, shed_c(now - n * H), 19.3, 22.2) for n in range(24, 0, -1)),
    )


def day_rows(now: datetime) -> tuple[HourRow, ...]:
    rows = []
    for n in range(24, 0, -1):
        starts = now - n * H
        within = [cellar_c(starts + m * STEP) for m in range(12) if not missing(starts + m * STEP, now)]
        if within:
            rows.append(HourRow(starts, sum(within) / len(within), min(within), max(within)))
        else:
            rows.append(HourRow(starts, None, None, None))
    return tuple(rows)


def warm(now: datetime = NOON, state: AlarmState = AlarmState.UNACKNOWLEDGED) -> AlarmView:
    """The smaller vessel's alarm."""
    seen = state is AlarmState.ACKNOWLEDGED
    return AlarmView(
        id="a-1042",
        key="above-band",
        title="Above the band",
        state=state,
        priority="high",
        raised_at=now - 2 * H,
        reason="22.1 C since 10:05, 1.1 C over the band",
        consequence="In the first days warmth makes solvent-like flavours that do not go away.",
        advice="Stand it in a basin of cool water, or wrap it in a wet cloth by the open window.",
        vessel_id="demijohn",
        vessel_name="Demijohn",
        batch_id="pale-2026-11-24",
        respond_by=now + H,
        acknowledged_at=now - H if seen else None,
        acknowledged_by="Robin" if seen else None,
        returned_at=now - H / 2 if state is AlarmState.RETURNED else None,
        shelved_until=now + 3 * H if state is AlarmState.SHELVED else None,
        suppressed_by="a change of stage" if state is AlarmState.SUPPRESSED else None,
    )


def silence(now: datetime = NOON) -> AlarmView:
    """The larger vessel's probe has gone quiet."""
    return AlarmView(
        id="a-1043",
        key="no-reading",
        title="No reading",
        state=AlarmState.UNACKNOWLEDGED,
        priority="high",
        raised_at=now - timedelta(minutes=96),
        reason="Nothing believed from 28-00000a1b2c3d since 10:28",
        consequence="Nobody knows how warm it is there.",
        advice="Look whether the cable is in its socket and the probe in the vessel.",
        vessel_id="bucket",
        vessel_name="Bucket by the stairs",
    )


def gone_silent(vessel: VesselView, now: datetime = NOON) -> VesselView:
    """The vessel as it is when its probe has not answered for an hour and a half."""
    last = now - timedelta(minutes=97)
    trail = tuple(p if p.at <= last else replace(p, temp_c=None) for p in vessel.trail)
    return replace(
        vessel,
        freshness=Freshness.SILENT,
        at=last,
        trail=trail,
        trend_c_per_h=None,
        leaves_band_at=None,
        ahead=(),
    )
