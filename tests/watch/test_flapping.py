"""A hundred vessels flapping in the running watch: few messages, and every alarm is told.

A flood is more than 10 alarms in 10 minutes: EEMUA 191 (second-hand).
"""

from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import Connection, select

from sensors.sample import ProbeId
from service.plans.course import begin, course_to_json
from service.plans.reading import plan_from_json, plan_to_json
from service.record.batches import add_batch
from service.record.facts import Batch, PlacedFor, Vessel
from service.record.tables import message
from service.record.vessels import add_probe, add_vessel, assign
from service.watch.outbox import StoredOutbox
from tests.rig import START, HandClock, HandSource, Rig

VESSELS = 100
TEN_MINUTES = timedelta(minutes=10)
PLAN = plan_from_json(
    {
        "name": "Brown",
        "stages": [
            {
                "key": "primary",
                "kind": "primary",
                "target_c": 20,
                "low_c": 18.5,
                "high_c": 21.5,
                "lasts_s": 777600,
                "ends": "brewer",
                "alarm_after_s": 60,
                "clear_after_s": 60,
            }
        ],
    }
)


def furnished(connection: Connection) -> None:
    for n in range(VESSELS):
        vessel = f"v{n}"
        add_vessel(connection, Vessel(vessel, vessel, "fermenter", None, 5.0, (), START))
        add_probe(connection, f"p{n}", f"p{n}", "onewire", None, None, START)
        assign(connection, f"p{n}", vessel, "liquid", START)
        course = begin(PLAN, START, START)
        add_batch(
            connection,
            Batch(
                id=f"b{n}",
                name=f"b{n}",
                plan_id=None,
                plan=plan_to_json(PLAN),
                course=course_to_json(course),
                state=course.state.value,
                volume_l=5.0,
                og=None,
                expected_fg=None,
                yeast=None,
                started_at=START,
                version=1,
                created_at=START,
                places=(PlacedFor(1, vessel, START, None),),
            ),
        )


def test_a_hundred_flapping_vessels_make_at_most_ten_messages_in_ten_minutes_and_hide_nothing(
    tmp_path: Path,
) -> None:
    probes = [ProbeId(f"p{n}") for n in range(VESSELS)]
    rig = Rig(tmp_path, HandClock(), HandSource(dict.fromkeys(probes, 20.0)), sweep_s=30.0)
    try:
        rig.record.write(furnished)
        rig.watch.reload()
        rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
        outbox = StoredOutbox(rig.record)
        left: list[datetime] = []
        for look in range(44):
            for n, probe in enumerate(probes):
                rig.source.values[probe] = 22.6 if look > 1 and (look + n) // 5 % 2 else 20.0
            rig.rounds(1)
            for one in outbox.due(rig.clock.at, 1000):
                outbox.sent(one.delivery_id, rig.clock.at, "ok", 1)
                left.append(rig.clock.at)

        with rig.record.reading() as connection:
            rows = list(connection.execute(select(message.c.state, message.c.alarms)))
        told = {alarm["vessel_id"] for row in rows for alarm in row.alarms}
        raised = {a["vessel_id"] for a in rig.get("/alarms", limit=200)["items"]}
        busiest = max(sum(first <= at < first + TEN_MINUTES for at in left) for first in left)
        assert raised == {f"v{n}" for n in range(VESSELS)}
        assert told >= raised
        assert busiest <= 10
    finally:
        rig.client.close()
        rig.record.close()
