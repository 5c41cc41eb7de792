"""Each way in which a probe lies, made by the kernel tree under the running program."""

import json
import os
import subprocess
from pathlib import Path

import pytest

from tests.emulated.fixtures import EmulatedTreeMaker
from tests.faults.test_from_wire_to_message import PLAN, PROBE
from tests.running import PROGRAM, Running, eventually

pytestmark = pytest.mark.fault

OTHER = "28-00000a1b2c3e"
LIES = (
    ("crc", 0.0, "crc", "checksum"),
    ("power-on", 0.0, "power-on", "before it measures"),
    ("zeros", 0.0, "zeros", "zeros"),
    ("disconnected", 0.0, "disconnected", "-127"),
    ("too-hot", 0.0, "out-of-range", "outside what the probe can measure"),
    ("empty", 0.0, "empty", "empty"),
    ("one-line", 0.0, "cut-short", "cut off"),
    ("contradicts", 0.0, "contradicts", "contradicts itself"),
    ("jump", 30.0, "jump", "jumped"),
    ("eio", 0.0, "unreadable", "could not be read"),
    ("slow", 120.0, "slow", "far longer"),
    ("hang", 0.0, "no-answer", "did not come back"),
)
"""Fault of the tree, its value, the kind it is counted as, words of its sentence."""


def counted(running: Running, probe: str) -> dict[str, int]:
    """Faults by kind in the last hour."""
    faults: dict[str, int] = running.get(f"/probes/{probe}")["health"]["faults_1h"]
    return faults


def test_every_lie_is_shown_by_its_kind_and_moves_no_temperature(
    emulated_tree: EmulatedTreeMaker, tmp_path: Path
) -> None:
    tree = emulated_tree({PROBE: 20.0, OTHER: 18.0}, speed=50)
    with Running(tmp_path / "data", tree.root) as running:
        eventually(lambda: len(running.get("/probes")["items"]) == 2, 10, "both probes")
        running.post("/vessels", {"name": "Bucket"})
        running.patch(f"/probes/{PROBE}", {"vessel_id": "bucket", "role": "liquid"})
        running.post("/batches", {"name": "Stair brown", "vessel_id": "bucket", "plan": PLAN})
        eventually(lambda: running.get(f"/probes/{PROBE}")["last"], 10, "a first value")

        for fault, value, kind, words in LIES:
            tree.fault(PROBE, fault, value=value)
            eventually(lambda kind=kind: counted(running, PROBE).get(kind), 20, f"the fault {kind}")
            probe = running.get(f"/probes/{PROBE}")
            page = running.client.get("/probes").text
            tree.clear(PROBE)
            heard_before = probe["last"]["at"]

            assert words in probe["health"]["sentence"], kind
            assert words in page, kind
            assert probe["last"]["temp_c"] == 20.0, kind
            eventually(
                lambda at=heard_before: running.get(f"/probes/{PROBE}")["last"]["at"] > at,
                20,
                "a value again",
            )

        tree.unplug(PROBE)
        eventually(lambda: counted(running, PROBE).get("vanished"), 10, "that it vanished")
        tree.plug(PROBE, 20.0)
        eventually(lambda: counted(running, PROBE).get("first-value"), 10, "that its first value was refused")
        tree.fault(PROBE, "zeros")
        tree.fault(OTHER, "zeros")
        eventually(lambda: counted(running, PROBE).get("whole-bus"), 10, "that the whole bus failed")
        tree.clear(PROBE)
        tree.clear(OTHER)

        raised = {alarm["key"] for alarm in running.get("/alarms")["items"]}
        assert raised.isdisjoint({"above-band", "below-band", "not-reached", "near-freezing", "fast-change"})
        assert counted(running, OTHER).keys() <= {"whole-bus"}


AT_A_GLANCE = [lie for lie in LIES if lie[2] not in ("jump", "slow", "no-answer")]
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
        assert (probe["id"], before) == (PROBE, 12)
