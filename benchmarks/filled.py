"""A month of one batch put into a record: two probes by the minute, readings, estimates. Invented figures."""

import math
import random
import time
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Connection

from service.plans.course import begin, course_to_json
from service.plans.reading import plan_from_json, plan_to_json
from service.record.batches import add_batch
from service.record.database import open_record
from service.record.estimates import keep_estimate
from service.record.facts import Batch, PlacedFor, Vessel
from service.record.minutes import MinuteRow, write_minutes
from service.record.vessels import add_probe, add_vessel, assign, probe_by_id
from service.watch.fold import minute_of

DAYS = 30
BATCH = "month-brown"
PLAN = {
    "name": "Month brown",
    "stages": [
        {
            "key": "primary",
            "kind": "primary",
            "target_c": 19.0,
            "lasts_s": 864000,
            "ends": "time",
        },
        {"key": "rest", "kind": "rest", "target_c": 20.0, "lasts_s": 1728000, "ends": "time"},
        {"key": "cold", "kind": "crash", "target_c": 3.0, "ends": "brewer"},
    ],
}


def fill(folder: Path, now: datetime) -> None:
    """Make a record with the month before `now` (aware UTC) in it."""
    record = open_record(folder, None, time.monotonic)
    began = (now - timedelta(days=DAYS)).replace(second=0, microsecond=0)
    plan = plan_from_json(PLAN)

    def parts(connection: Connection) -> None:
        add_vessel(connection, Vessel("bucket", "Bucket", "fermenter", "plastic", 5.0, (), began))
        for probe_id, role in (("well", "liquid"), ("air", "surroundings")):
            add_probe(connection, probe_id, probe_id, "pushed", None, 60.0, began)
            assign(connection, probe_id, "bucket", role, began)
        add_batch(
            connection,
            Batch(
                id=BATCH,
                name="Month brown",
                plan_id=None,
                plan=plan_to_json(plan),
                course=course_to_json(begin(plan, began, now)),
                state="running",
                volume_l=5.0,
                og=1.046,
                expected_fg=1.012,
                yeast=None,
                started_at=began,
                version=1,
                created_at=began,
                places=(PlacedFor(1, "bucket", began, None),),
            ),
        )

    record.write(parts, wait_s=None)
    with record.reading() as connection:
        numbers = [probe_by_id(connection, name).number for name in ("well", "air")]
    first, last = minute_of(began), minute_of(now)
    chance = random.Random(1)
    for day in range(first, last, 1440):
        rows = [
            MinuteRow(
                number, minute, _milli(minute - first, of, chance), 31 * (minute % 3), 31 * (minute % 2), 6
            )
            for minute in range(day, min(last, day + 1440))
            for of, number in enumerate(numbers)
        ]
        record.write(lambda c, rows=rows: write_minutes(c, rows), wait_s=None)
    record.write(lambda c: _estimates(c, began), wait_s=None)
    record.close()


def _milli(minute: int, of: int, chance: random.Random) -> int:
    """Milli-degrees: a warm hump of the first days, a daily wave, drafts, and the sensor's sixteenths."""
    hours = minute / 60
    hump = 2.2 * math.exp(-(((hours - 40) / 30) ** 2)) if of == 0 else 0.0
    wave = (0.3 if of == 0 else 1.1) * math.sin(2 * math.pi * (hours - 9 * of) / 24)
    return round((18.6 + hump + wave + chance.gauss(0, 0.1)) * 16) * 1000 // 16


def _estimates(connection: Connection, began: datetime) -> None:
    for hour in range(12, 21 * 24):
        share = 1 / (1 + math.exp(-(hour - 44) / 12))
        sg, wide = 1.046 - 0.034 * share, 0.002
        at = began + timedelta(hours=hour)
        body: dict[str, Any] = {
            "at": at.isoformat().replace("+00:00", "Z"),
            "verdict": "working",
            "gravity": {"value": sg, "low": sg - wide, "high": sg + wide},
            "share": {"value": share, "low": max(0, share - 0.05), "high": min(1, share + 0.05)},
            "evidence": ["Invented for measuring."],
        }
        keep_estimate(connection, BATCH, at, body)
