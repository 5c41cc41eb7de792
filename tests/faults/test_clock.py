"""The wall clock set back and forward, and the time zone changed, under the running program.

What is promised: sweeps, alarms and commits go on, every sample is in the record, and a clock that moves
raises no alarm about the beer.
"""

import os
import shutil
import sqlite3
import struct
import subprocess
import time
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.emulated.fixtures import EmulatedTreeMaker
from tests.emulated.tree import EmulatedTree
from tests.faults.shims import shim
from tests.running import PROGRAM, Running, eventually

pytestmark = pytest.mark.fault

PROBE = "28-00000a1b2c3d"
ZONES = Path("/usr/share/zoneinfo")
PLAN = {
    "name": "Steady",
    "stages": [
        {
            "key": "primary",
            "kind": "primary",
            "target_c": 20,
            "low_c": 18,
            "high_c": 22,
            "lasts_s": 864000,
            "ends": "brewer",
            "alarm_after_s": 3,
            "clear_after_s": 3,
        }
    ],
}
ABOUT_THE_CLOCK = {"clock-untrusted"}
UNBELIEVED = 2
"""A jump of the temperature is believed at the third sample that agrees."""


class Clock:
    """The wall clock that the program sees."""

    def __init__(self, workshop: Path) -> None:
        self._file = workshop / "step"
        self.environment = {"LD_PRELOAD": str(shim("clock", workshop)), "CLOCK_STEP": str(self._file)}
        self.set(timedelta())

    def set(self, step: timedelta) -> None:
        """Let it be off by so much from now on."""
        mode = "r+b" if self._file.exists() else "wb"
        with self._file.open(mode) as file:
            file.write(struct.pack("=q", int(step / timedelta(microseconds=1)) * 1000))


def watched(folder: Path, tree: EmulatedTree, environment: Mapping[str, str], **more: Any) -> Running:
    """The program, not yet started, that believes its clock only as far as it can be believed."""
    settings = {"GYLEWATCH_CLOCK": "auto", **environment}
    return Running(folder, tree.root, log="warning", environment=settings, **more)


def begin(running: Running) -> None:
    """A vessel with the probe in it, and a batch."""
    eventually(lambda: running.get("/probes")["items"], 10, "the probe")
    running.post("/vessels", {"name": "Bucket", "volume_l": 5})
    running.patch(f"/probes/{PROBE}", {"vessel_id": "bucket", "role": "liquid"})
    running.post("/batches", {"name": "Steady", "vessel_id": "bucket", "plan": PLAN})


def standing(running: Running) -> set[str]:
    return {one["key"] for one in running.get("/alarms", standing="true")["items"]}


def some_rounds(running: Running, count: int = 4) -> None:
    """So many more rounds; none of them and no commit may have failed."""
    health = running.client.get("/readyz").json()
    wanted = health["rounds"] + count
    eventually(
        lambda: running.client.get("/readyz").json()["rounds"] >= wanted, 20 + 2 * count, "more rounds"
    )
    health = running.client.get("/readyz").json()
    assert (health["failed_rounds"], health["writer"]["failures"]) == (0, 0), running.log[-2000:]


def samples_in(folder: Path) -> int:
    """How many samples the record holds, dated or not yet."""
    with sqlite3.connect(folder / "record.db") as record:
        counts = [
            record.execute(f"SELECT coalesce(sum(count), 0) FROM {name}").fetchone()[0]
            for name in ("minute", "undated_minute")
        ]
    record.close()
    return int(sum(counts))


def test_a_clock_set_back_and_forward_loses_no_sample_and_invents_no_alarm(
    emulated_tree: EmulatedTreeMaker, tmp_path: Path
) -> None:
    tree, clock = emulated_tree({PROBE: 20.0}), Clock(tmp_path / "workshop")
    seen: dict[str, set[str]] = {}
    believed: dict[str, bool] = {}
    with watched(tmp_path / "data", tree, clock.environment) as running:
        begin(running)
        some_rounds(running)
        for name, step in (
            ("back", timedelta(hours=-2)),
            ("back by seconds", timedelta(hours=-2, seconds=-20)),
            ("right", timedelta()),
            ("far ahead", timedelta(days=40)),
            ("right again", timedelta()),
        ):
            clock.set(step)
            some_rounds(running)
            seen[name] = standing(running)
            believed[name] = running.client.get("/readyz").json()["clock"] == "believed"
        rounds = running.client.get("/readyz").json()["rounds"]
        running.stop()

    assert {name: keys - ABOUT_THE_CLOCK for name, keys in seen.items()} == {name: set() for name in seen}
    assert (believed["back"], believed["back by seconds"], believed["right"]) == (False, False, True)
    assert rounds - 1 <= samples_in(running.folder) <= rounds + 1
    assert "Traceback" not in running.log


@pytest.mark.parametrize("step", [timedelta(hours=-2), timedelta(days=40)], ids=["back", "ahead"])
def test_an_alarm_is_raised_and_returns_while_the_clock_is_wrong(
    step: timedelta, emulated_tree: EmulatedTreeMaker, tmp_path: Path
) -> None:
    tree, clock = emulated_tree({PROBE: 20.0}), Clock(tmp_path / "workshop")
    with watched(tmp_path / "data", tree, clock.environment) as running:
        begin(running)
        some_rounds(running)
        clock.set(step)
        some_rounds(running, 2)

        tree.set(PROBE, 23.5)
        eventually(lambda: "above-band" in standing(running), 20, "the alarm")
        clock.set(timedelta())
        some_rounds(running)
        still = standing(running)
        tree.set(PROBE, 20.0)
        (alarm,) = [one for one in running.get("/alarms")["items"] if one["key"] == "above-band"]
        running.post(f"/alarms/{alarm['id']}/acknowledge")
        eventually(lambda: "above-band" not in standing(running), 20, "its return")
        running.stop()

    assert "above-band" in still
    assert still - ABOUT_THE_CLOCK == {"above-band"}


@pytest.mark.skipif(os.geteuid() != 0, reason="only root may mount")
def test_a_change_of_the_time_zone_and_of_summer_time_moves_nothing(
    emulated_tree: EmulatedTreeMaker, tmp_path: Path
) -> None:
    tree, clock = emulated_tree({PROBE: 20.0}), Clock(tmp_path / "workshop")
    zone, program = tmp_path / "localtime", tmp_path / "in-a-zone-of-its-own"
    shutil.copyfile(ZONES / "Europe/Berlin", zone)
    program.write_text(
        "#!/bin/sh\n"
        f'exec unshare --mount sh -c \'mount --bind {zone} /etc/localtime && exec {PROGRAM} "$@"\' sh "$@"\n'
    )
    program.chmod(0o755)
    # ten seconds before the hour that summer time's end repeats in Berlin
    clock.set(datetime(2027, 10, 31, 0, 59, 50, tzinfo=UTC) - datetime.now(UTC))
    berlin = {**clock.environment, "GYLEWATCH_TIMEZONE": "Europe/Berlin"}
    with watched(tmp_path / "data", tree, berlin, program=program) as running:
        begin(running)
        tree.set(PROBE, 23.5)
        raised = eventually(lambda: running.get("/alarms", standing="true")["items"], 20, "the alarm")
        some_rounds(running, 8)
        shutil.copyfile(ZONES / "Pacific/Auckland", zone)
        some_rounds(running, 5)
        batch = running.get("/batches")["items"][0]
        rounds = running.client.get("/readyz").json()["rounds"]
        running.stop()
    before = samples_in(running.folder)
    auckland = {**clock.environment, "GYLEWATCH_TIMEZONE": "Pacific/Auckland"}
    with watched(tmp_path / "data", tree, auckland) as again:
        some_rounds(again, 2)
        after = again.get("/alarms", standing="true")["items"]
        same = again.get("/batches")["items"][0]

    assert [one["key"] for one in raised] == ["above-band"]
    assert [(one["id"], one["key"]) for one in after] == [(one["id"], one["key"]) for one in raised]
    assert same["started_at"] == batch["started_at"]
    assert rounds - 1 - UNBELIEVED <= before <= rounds + 1
    with sqlite3.connect(tmp_path / "data" / "record.db") as record:
        minutes = [row[0] for row in record.execute("SELECT minute FROM minute ORDER BY minute")]
    record.close()
    assert minutes == list(range(minutes[0], minutes[-1] + 1))


def test_the_clock_that_is_set_is_the_one_the_program_sees(tmp_path: Path) -> None:
    clock = Clock(tmp_path / "workshop")
    script = "import time; print(time.time()); print(time.monotonic())"
    clock.set(timedelta(days=-3))

    done = subprocess.run(
        [str(PROGRAM.parent / "python"), "-c", script],
        env={**os.environ, **clock.environment},
        capture_output=True,
        text=True,
        check=True,
    )
    wall, monotonic = map(float, done.stdout.split())

    assert wall == pytest.approx(time.time() - 3 * 86400, abs=5)
    assert monotonic == pytest.approx(time.monotonic(), abs=5)
