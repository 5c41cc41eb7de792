"""The demonstration: a simulated fermenter with its past filled in, running on in real time.

Beer, place, figures and steps are invented. Everything goes through the same doors as real use: the past
is swept, screened and folded as it would have been, then the ordinary service runs on.
"""

import shutil
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import Connection

from sensors.sample import ProbeId
from sensors.simulated.demo import demo_scenario
from sensors.simulated.kitchen import Kitchen
from sensors.simulated.source import SimulatedSource
from service.plans.course import begin, course_to_json
from service.plans.reading import plan_from_json, plan_to_json
from service.record.batches import add_batch
from service.record.database import open_record
from service.record.facts import Batch, PlacedFor, Vessel
from service.record.marks import set_mark
from service.record.minutes import write_minutes
from service.record.types import to_ms
from service.record.vessels import add_probe, add_vessel, assign, change_probe, probe_by_id
from service.settings import Settings
from service.watch.committing import LAST_COMMIT
from service.watch.fold import fold_all, milli

SEED = 8330
HISTORY_STEP_S = 20.0
PLAN = {
    "name": "Lantern brown",
    "stages": [
        {
            "key": "primary",
            "kind": "primary",
            "target_c": {"from": 17.5, "to": 18.2, "over_s": 172800},
            "low_c": -1.0,
            "high_c": 1.2,
            "band": "relative",
            "lasts_s": 777600,
            "ends": "steady-gravity",
            "prompts": [{"at_s": 345600, "say": "Take a gravity reading"}],
        },
        {"key": "cold", "kind": "crash", "target_c": 4.0, "lasts_s": 172800, "ends": "brewer"},
        {"key": "bottles", "kind": "condition", "target_c": 20.0, "lasts_s": 1209600, "ends": "brewer"},
    ],
}


def run_demo(settings: Settings, say: Callable[[str], None]) -> None:
    """Make the folder anew, fill in the past, and run the service there."""
    from service.main import run

    folder = Path(tempfile.gettempdir()) / f"gylewatch-demo-{settings.port}"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(mode=0o700)
    now = datetime.now(UTC)
    scenario = demo_scenario(now)
    source = SimulatedSource(Kitchen(scenario, SEED), seed=SEED)
    fill_in(folder, source, scenario.starts, now)
    say(f"A simulated fermenter is being watched: http://{settings.host}:{settings.port}")
    say("Everything shown is invented. Stop with Ctrl-C.")
    run(settings.model_copy(update={"data_dir": folder, "database_url": None, "clock": "trusted"}), [source])


def fill_in(folder: Path, source: SimulatedSource, began: datetime, now: datetime) -> None:
    """Make vessel, probes and batch, and their minutes from the batch's start until now."""
    record = open_record(folder, None, time.monotonic)
    plan = plan_from_json(PLAN)

    def work(connection: Connection) -> None:
        bucket = Vessel("bucket", "Bucket in the cupboard", "fermenter", "plastic", 5.0, (), began)
        add_vessel(connection, bucket)
        for probe_id, label, role, mounting in (
            ("sim-bucket", "Bucket, thermowell", "liquid", "thermowell"),
            ("sim-cupboard", "Cupboard air", "surroundings", None),
        ):
            add_probe(connection, probe_id, label, "simulated", None, None, began)
            change_probe(connection, probe_id, {"mounting": mounting})
            assign(connection, probe_id, bucket.id, role, began)
        course = begin(plan, began, now)
        add_batch(
            connection,
            Batch(
                id=f"lantern-brown-{began:%Y-%m-%d}",
                name="Lantern brown",
                plan_id=None,
                plan=plan_to_json(plan),
                course=course_to_json(course),
                state=course.state.value,
                volume_l=5.0,
                og=1.046,
                expected_fg=1.012,
                yeast=None,
                started_at=began,
                version=1,
                created_at=began,
                places=(PlacedFor(1, bucket.id, began, None),),
            ),
        )
        values: dict[ProbeId, list[tuple[int, int]]] = {}
        for value in source.history(began, now, HISTORY_STEP_S):
            values.setdefault(value.probe_id, []).append((to_ms(value.at), milli(value.raw_c)))
        for probe_id, pairs in values.items():
            write_minutes(connection, fold_all(probe_by_id(connection, probe_id).number, pairs))
        set_mark(connection, LAST_COMMIT, (now - timedelta(seconds=10)).isoformat())

    try:
        record.write(work, wait_s=None)
    finally:
        record.close()
