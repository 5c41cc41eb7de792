"""Two invented vessels, their temperatures plain functions of time, and what may stand for them."""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from web.pages.batches import BatchView, StageRow
from web.pages.probes import ProbeView
from web.pages.settings import ChannelView
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

NOON = datetime(2026, 11, 25, 12, 5, 20, tzinfo=UTC)
PLAN = {
    "name": "Stair brown",
    "stages": [
        {
            "key": "primary",
            "kind": "primary",
            "target_c": {"from": 18, "to": 20, "over_s": 86400},
            "low_c": -1.5,
            "high_c": 1.5,
            "band": "relative",
            "lasts_s": 777600,
            "ends": "steady-gravity",
        },
        {"key": "cold", "kind": "crash", "target_c": 3, "lasts_s": 172800, "ends": "brewer"},
    ],
}
H = timedelta(hours=1)
STEP = timedelta(minutes=5)


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
        acknowledged_by="Attic" if seen else None,
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


def probes(now: datetime = NOON) -> list[ProbeView]:
    """One probe in each state."""
    return [
        ProbeView(
            "28-00000a1b2c3d",
            "Bucket, thermowell",
            "onewire",
            "well",
            "It answers every time.",
            "bucket",
            "Bucket by the stairs",
            "liquid",
            "thermowell",
            20.1,
            now - timedelta(seconds=4),
            14.0,
        ),
        ProbeView(
            "28-00000a1b2c3e",
            "Stairs, air",
            "onewire",
            "faulty",
            "12 values of the last hour failed their check sum. Look at the connector.",
            "bucket",
            "Bucket by the stairs",
            "surroundings",
            "bare",
            17.6,
            now - timedelta(seconds=8),
            15.0,
        ),
        ProbeView(
            "demijohn-air",
            "Demijohn",
            "pushed",
            "silent",
            "Nothing has arrived for 25 minutes; it should send every minute.",
            "demijohn",
            "Demijohn",
            "liquid",
            "lagged",
            21.9,
            now - timedelta(minutes=25),
        ),
        ProbeView(
            "28-00000a1b2c40",
            "28-00000a1b2c40",
            "onewire",
            "waiting",
            "It answers, and hangs nowhere yet.",
            None,
            None,
            None,
            None,
            19.2,
            now - timedelta(seconds=2),
            14.0,
        ),
    ]


def channels() -> list[ChannelView]:
    """Two ways for messages, one of them failing."""
    return [
        ChannelView("phone", "My phone", "webhook", "https://push.example/…", "The last message arrived."),
        ChannelView(
            "mail",
            "Mail",
            "mail",
            "mail.example:587, to attic@example.org",
            "Connection refused since 09:10; 2 messages wait.",
            True,
            "high",
            {"every-day": ("22:00", "07:00"), "sunday": ("22:00", "09:30")},
        ),
    ]


def brew(now: datetime = NOON) -> BatchView:
    """The larger vessel's batch."""
    day = timedelta(days=1)
    return BatchView(
        id="brown-2026-11-22",
        name="Winter brown",
        state="running",
        started_at=now - 3 * day,
        vessel_id="bucket",
        vessel_name="Bucket by the stairs",
        stages=(
            StageRow("mash", "mash", "past", BandView(67, 65.5, 68.5), now - 3 * day, now - 3 * day + H),
            StageRow("boil", "boil", "past", BandView(), now - 3 * day + 2 * H, now - 3 * day + 3 * H),
            StageRow(
                "primary",
                "primary",
                "now",
                BandView(20, 18.5, 21.5),
                now - 70 * H,
                now + 146 * H,
                "ends when readings are steady",
            ),
            StageRow(
                "cold",
                "crash",
                "planned",
                BandView(2, 0, 4),
                now + 146 * H,
                now + 194 * H,
                "ends when you say so",
            ),
        ),
        pitched_at=now - 70 * H,
        volume_l=5.0,
        og=1.048,
        expected_fg=1.011,
        next_key="cold",
        undo="primary was entered Sun 14:05",
        days=day_rows(now),
        sentence="Over its three days it lay between 18.9 C and 21.0 C, always within its band.",
        progress=ProgressView("Working, past its peak.", 0.62, 0.55, 0.70),
        evidence=(
            "Its heat is half of what it was at its highest, on Monday evening.",
            "No reading has been taken yet.",
        ),
    )
