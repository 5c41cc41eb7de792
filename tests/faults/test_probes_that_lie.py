"""Each way in which a probe lies, made by the kernel tree under the running program."""

import json
import os
import subprocess
from pathlib import Path

import pytest

from sensors.sample import FaultKind
from tests.emulated.fixtures import EmulatedTreeMaker
from tests.faults.test_from_wire_to_message import PLAN, PROBE, standing
from tests.running import PROGRAM, Running, eventually

pytestmark = pytest.mark.fault

OTHER = "28-00000a1b2c3e"
LIES = (
    ("crc", 0.0, "crc", "checksum"),
    ("power-on", 0.0, "power-on", "before it measures"),
    ("power-on-7ff", 0.0, "power-on", "before it measures"),
    ("zeros", 0.0, "zeros", "zeros"),
    ("disconnected", 0.0, "disconnected", "-127"),
    ("too-hot", 0.0, "out-of-range", "outside what the probe can measure"),
    ("empty", 0.0, "empty", "empty"),
    ("one-line", 0.0, "cut-short", "cut off"),
    ("cut", 3.0, "cut-short", "cut off"),
    ("contradicts", 0.0, "contradicts", "contradicts itself"),
    ("jump", 30.0, "jump", "jumped"),
    ("eio", 0.0, "unreadable", "could not be read"),
    ("slow", 120.0, "slow", "far longer"),
    ("hang", 0.0, "no-answer", "did not come back"),
)
"""Fault of the tree, its value, the kind it is counted as, words of its sentence."""

MORE = {
    "lingers": "still listed but no longer answers",
    "vanished": "no longer on the bus",
    "first-value": "first value after the probe came back",
    "whole-bus": "All probes on the bus failed at once",
    "frozen": "has not moved for hours",
}
"""Kinds that one fault of one probe does not make, and words of their sentences."""

OF_TEMPERATURE = {
    "above-band",
    "below-band",
    "heading-out",
    "fast-change",
    "not-reached",
    "near-boil",
    "near-freezing",
    "bottles-warm",
}


def counted(running: Running, probe: str) -> dict[str, int]:
    """Faults by kind in the last hour."""
    faults: dict[str, int] = running.get(f"/probes/{probe}")["health"]["faults_1h"]
    return faults


def is_counted(running: Running, kind: str, before: int) -> None:
    """Wait until more faults of a kind are counted than before."""
    eventually(lambda: counted(running, PROBE).get(kind, 0) > before, 20, f"the fault {kind}")


def shows(running: Running, kind: str, before: int, words: str) -> None:
    """Wait until a fault of the probe is counted by its kind, and see it on the page and in the API."""
    is_counted(running, kind, before)
    probe = eventually(
        lambda: words in (p := running.get(f"/probes/{PROBE}"))["health"]["sentence"] and p,
        10,
        f"the sentence of {kind}",
    )
    page = eventually(
        lambda: words in (p := running.client.get("/probes").text) and p, 10, f"{kind} on the page"
    )
    assert probe["last"]["temp_c"] == 20.0, kind
    assert page


def speaks_again(running: Running, probe: str = PROBE) -> None:
    """Wait for a believed value that is newer than the last."""
    before = running.get(f"/probes/{probe}")["last"]["at"]
    eventually(lambda: running.get(f"/probes/{probe}")["last"]["at"] > before, 20, "a value again")


def command(running: Running, root: Path, *more: str) -> str:
    """What `gylewatch probes` says beside the running program."""
    environment = {
        **os.environ,
        "GYLEWATCH_W1_ROOT": str(root),
        "GYLEWATCH_DATA_DIR": str(running.folder),
    }
    done = subprocess.run(
        [str(PROGRAM), "probes", *more], env=environment, capture_output=True, text=True, check=True
    )
    return done.stdout


def test_every_lie_is_shown_by_its_kind_and_moves_no_temperature(
    emulated_tree: EmulatedTreeMaker, tmp_path: Path
) -> None:
    """On the page, by the API and by the command, all while the program runs."""
    tree = emulated_tree({PROBE: 20.0, OTHER: 18.0}, speed=50)
    with Running(tmp_path / "data", tree.root, frozen_after_h=0.002) as running:
        eventually(lambda: len(running.get("/probes")["items"]) == 2, 10, "both probes")
        running.post("/vessels", {"name": "Bucket"})
        running.patch(f"/probes/{PROBE}", {"vessel_id": "bucket", "role": "liquid"})
        running.post("/batches", {"name": "Stair brown", "vessel_id": "bucket", "plan": PLAN})
        eventually(lambda: running.get(f"/probes/{PROBE}")["last"], 10, "a first value")

        for fault, value, kind, words in LIES:
            before = counted(running, PROBE).get(kind, 0)
            tree.fault(PROBE, fault, value=value)
            shows(running, kind, before, words)
            tree.clear(PROBE)
            speaks_again(running)

        tree.unplug(PROBE, lingers=True)
        shows(running, "lingers", 0, MORE["lingers"])
        tree.unplug(PROBE)
        shows(running, "vanished", 0, MORE["vanished"])
        tree.plug(PROBE, 20.0)
        shows(running, "first-value", 0, MORE["first-value"])
        speaks_again(running)
        for probe in (PROBE, OTHER):
            tree.fault(probe, "zeros")
        shows(running, "whole-bus", 0, MORE["whole-bus"])
        for probe in (PROBE, OTHER):
            tree.clear(probe)
        speaks_again(running)
        tree.fault(PROBE, "frozen")
        tree.set(OTHER, 20.5)
        shows(running, "frozen", 0, MORE["frozen"])
        eventually(
            lambda: "probe-frozen" in {a["key"] for a in running.get("/alarms")["items"]}, 10, "its alarm"
        )
        noted = json.loads(command(running, tree.root, "--json"))["service"]["probes"]
        text = command(running, tree.root)

        kinds = {
            fault["kind"]: fault["explained"]
            for one in noted
            if one["id"] == PROBE
            for fault in one["faults"]
        }
        every = {kind: words for _, _, kind, words in LIES} | MORE
        assert kinds.keys() == every.keys() == {kind.value for kind in FaultKind}
        assert [kind for kind, words in every.items() if words not in kinds[kind]] == []
        assert [kind for kind, words in every.items() if words not in text] == []
        raised = {alarm["key"] for alarm in running.get("/alarms", limit=1000)["items"]}
        assert raised.isdisjoint(OF_TEMPERATURE)
        assert counted(running, OTHER).keys() <= {"whole-bus"}


def test_no_lie_clears_a_standing_temperature_alarm(emulated_tree: EmulatedTreeMaker, tmp_path: Path) -> None:
    tree = emulated_tree({PROBE: 20.0, OTHER: 18.0}, speed=50)
    with Running(tmp_path / "data", tree.root) as running:
        eventually(lambda: len(running.get("/probes")["items"]) == 2, 10, "both probes")
        running.post("/vessels", {"name": "Bucket"})
        running.patch(f"/probes/{PROBE}", {"vessel_id": "bucket", "role": "liquid"})
        running.post("/batches", {"name": "Stair brown", "vessel_id": "bucket", "plan": PLAN})
        eventually(lambda: running.get("/vessels/bucket")["now"]["temp_c"] == 20.0, 10, "a first value")
        tree.set(PROBE, 22.6)
        eventually(lambda: standing(running, "above-band"), 15, "the alarm")

        for fault, _, kind, _ in AT_A_GLANCE:
            before = counted(running, PROBE).get(kind, 0)
            tree.fault(PROBE, fault)
            is_counted(running, kind, before)
            tree.clear(PROBE)
        tree.fault(PROBE, "jump", times=2, value=-10.0)
        eventually(lambda: counted(running, PROBE).get("jump", 0) >= 1, 10, "the jump")
        speaks_again(running)

        assert [alarm["state"] for alarm in standing(running, "above-band")] == ["unacknowledged"]
        events = running.get(f"/alarms/{standing(running, 'above-band')[0]['id']}")["transitions"]
        assert "returned" not in [event["event"] for event in events]


AT_A_GLANCE = [lie for lie in LIES if lie[2] not in ("jump", "slow", "no-answer") and lie[0] != "cut"]
"""One look tells these; a jump needs something before it, and slowness needs time."""


@pytest.mark.parametrize(("fault", "value", "kind", "words"), AT_A_GLANCE)
def test_the_command_explains_each_lie(
    emulated_tree: EmulatedTreeMaker, fault: str, value: float, kind: str, words: str
) -> None:
    tree = emulated_tree({PROBE: 20.0}, speed=50)
    tree.fault(PROBE, fault, value=value)

    done = subprocess.run(
        [str(PROGRAM), "probes", "--json"],
        env={**os.environ, "GYLEWATCH_W1_ROOT": str(tree.root)},
        capture_output=True,
        text=True,
        check=True,
    )

    probe = json.loads(done.stdout)["probes"][0]
    assert (probe["temp_c"], probe["fault"]) == (None, kind)
    assert words in probe["explained"]


def test_a_probes_resolution_is_chosen_and_shown(emulated_tree: EmulatedTreeMaker, tmp_path: Path) -> None:
    tree = emulated_tree({PROBE: 20.0}, speed=50)
    with Running(tmp_path / "data", tree.root) as running:
        probe = eventually(lambda: running.get("/probes")["items"], 10, "the probe")[0]
        before = eventually(lambda: running.get(f"/probes/{PROBE}")["resolution_bits"], 10, "its resolution")

        running.patch(f"/probes/{PROBE}", {"resolution_bits": 10})

        eventually(lambda: running.get(f"/probes/{PROBE}")["resolution_bits"] == 10, 15, "the new resolution")
        on_the_page = eventually(lambda: "10 bits" in running.client.get("/probes").text, 10, "it shown")
        told = json.loads(command(running, tree.root, "--json"))["probes"][0]["bits"]
    assert (probe["id"], before, on_the_page, told) == (PROBE, 12, True, 10)
