"""The main thread of the program, on real parts: kernel tree, process, database, receiver, page."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.emulated.fixtures import EmulatedTreeMaker
from tests.notify.receivers import Answer, HttpReceiver, http_receiver
from tests.running import Running, eventually

pytestmark = pytest.mark.fault

PROBE = "28-00000a1b2c3d"
PLAN = {
    "name": "Stair brown",
    "stages": [
        {
            "key": "primary",
            "kind": "primary",
            "target_c": 20,
            "low_c": 18.5,
            "high_c": 21.5,
            "lasts_s": 777600,
            "ends": "steady-gravity",
            "alarm_after_s": 2,
            "clear_after_s": 2,
        }
    ],
}


def watched(running: Running, receiver: HttpReceiver) -> str:
    """Give the probe a vessel, start a batch, open a channel; returns the vessel's id."""
    eventually(lambda: [p for p in running.get("/probes")["items"] if p["id"] == PROBE], 10, "the probe")
    vessel = running.post("/vessels", {"name": "Bucket", "volume_l": 5})["id"]
    running.patch(f"/probes/{PROBE}", {"vessel_id": vessel, "role": "liquid"})
    running.post("/batches", {"name": "Stair brown", "vessel_id": vessel, "plan": PLAN, "og": 1.045})
    running.post("/channels", {"kind": "webhook", "name": "Hall", "url": receiver.url})
    return str(vessel)


def standing(running: Running, key: str) -> list[dict[str, Any]]:
    """The standing alarms of a kind."""
    return [a for a in running.get("/alarms", standing="true")["items"] if a["key"] == key]


def first_messages(receiver: HttpReceiver, key: str) -> list[dict[str, Any]]:
    """The first messages about alarms of a kind that were received."""
    bodies = [json.loads(one.body) for one in receiver.received]
    return [b for b in bodies if b["reason"] == "first" and any(a["key"] == key for a in b["alarms"])]


def test_a_stray_leads_to_one_message_that_survives_a_kill_and_silence_raises_its_own_alarm(
    emulated_tree: EmulatedTreeMaker, tmp_path: Path
) -> None:
    tree = emulated_tree({PROBE: 20.0}, speed=20)
    with http_receiver(Answer(200)) as receiver, Running(tmp_path / "data", tree.root) as running:
        vessel = watched(running, receiver)
        eventually(lambda: running.get(f"/vessels/{vessel}")["now"]["temp_c"] == 20.0, 10, "the first value")

        tree.set(PROBE, 22.6)
        alarm = eventually(lambda: standing(running, "above-band"), 15, "the alarm")[0]
        message = eventually(lambda: first_messages(receiver, "above-band"), 10, "the message")[0]

        assert alarm["state"] == "unacknowledged"
        assert alarm["priority"] == "high"
        assert message["vessel"] == vessel
        assert "22.6 C" in message["text"]
        assert "127.0.0.1" not in message["text"]
        assert "Acknowledge on the page of the watch." in message["text"]
        page = running.client.get("/").text
        assert page.index("Too warm") < page.index("Bucket</h")

        running.kill()
        running.start()
        assert [a["id"] for a in standing(running, "above-band")] == [alarm["id"]]
        eventually(lambda: running.get(f"/vessels/{vessel}")["now"]["temp_c"] == 22.625, 10, "a new value")
        assert len(first_messages(receiver, "above-band")) == 1

        tree.unplug(PROBE)
        eventually(lambda: standing(running, "no-reading"), 45, "the alarm for silence")
        eventually(lambda: first_messages(receiver, "no-reading"), 10, "the message about silence")
        assert [a["state"] for a in standing(running, "above-band")] == ["unacknowledged"]
        assert running.get(f"/vessels/{vessel}")["now"]["temp_c"] is None
        assert len(first_messages(receiver, "above-band")) == 1


def test_it_stops_within_five_seconds_with_pages_open(tmp_path: Path) -> None:
    with Running(tmp_path / "data") as running:
        with running.client.stream("GET", "/api/v1/events") as page:
            lines = page.iter_lines()
            assert next(lines) == "retry: 3000"

            took_s = running.stop()

        assert took_s < 5.0
