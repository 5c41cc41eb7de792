"""A month on a bad cable through intake, judge and the book of alarms: nobody is woken for nothing."""

from datetime import UTC, datetime, timedelta

import pytest

from sensors.simulated.rough_month import rough_month
from sensors.simulated.source import USUAL_PROBES
from tests.rig import HandClock, HandSource, Rig

EVERY_S = 180.0
START = datetime(2026, 11, 1, 12, 0, tzinfo=UTC)


LIQUID = next(p for p in USUAL_PROBES if "bucket" in p)


class Month(HandSource):
    """The simulated month, sweep by sweep."""

    name = "simulated"

    def __init__(self) -> None:
        super().__init__({})
        self.sweeps = rough_month(START, seed=11, every_s=EVERY_S)

    def sweep(self, at):  # type: ignore[no-untyped-def]
        return next(self.sweeps)


@pytest.mark.fault
def test_thirty_days_of_crc_failures_power_on_values_and_dropouts_raise_no_false_alarm(tmp_path) -> None:  # type: ignore[no-untyped-def]
    clock = HandClock(START)
    rig = Rig(tmp_path, clock, Month(), sweep_s=EVERY_S)
    try:
        rig.rounds(1)
        rig.post("/vessels", {"name": "Bucket", "volume_l": 5})
        rig.patch(f"/probes/{LIQUID}", {"vessel_id": "bucket", "role": "liquid"})
        plan = {
            "name": "Month",
            "stages": [
                {
                    "key": "primary",
                    "kind": "primary",
                    "target_c": 19,
                    "low_c": 10,
                    "high_c": 28,
                    "ends": "brewer",
                }
            ],
        }
        rig.post("/batches", {"name": "Month", "vessel_id": "bucket", "plan": plan})

        rounds = int(timedelta(days=30).total_seconds() / EVERY_S) - 1
        silences, silent = 0, False
        for _ in range(rounds):
            rig.watch.round()
            last = rig.watch.intake.live[LIQUID].last
            quiet = last is not None and (clock.now() - last.at).total_seconds() >= 3 * EVERY_S
            silences, silent = silences + (quiet and not silent), quiet
            clock.forward(EVERY_S)

        raised = [alarm["key"] for alarm in rig.get("/alarms", limit=1000)["items"]]
        faults = rig.watch.intake.live[LIQUID].recent_faults
        assert len(faults) > 100
        assert set(raised) <= {"no-reading"}
        assert raised.count("no-reading") <= silences
    finally:
        rig.client.close()
        rig.record.close()
