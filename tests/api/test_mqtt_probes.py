"""Declaring and changing probes that listen to MQTT."""

from typing import Any

import pytest

from tests.rig import Rig


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({}, "/topic"),
        ({"topic": "cellar/#/c"}, "/topic"),
        ({"topic": "cellar+"}, "/topic"),
        ({"topic": ""}, "/topic"),
        ({"topic": "cellar", "path": "a..b"}, "/path"),
        ({"topic": "cellar", "time_path": "at"}, "/path"),
        ({"topic": "cellar", "path": "c", "time_path": "."}, "/time_path"),
        ({"topic": "cellar", "source": "pushed"}, "/topic"),
        ({"topic": 5}, "/topic"),
    ],
)
def test_what_cannot_be_listened_to_is_refused_by_its_field(
    rig: Rig, more: dict[str, Any], field: str
) -> None:
    body = rig.post("/probes", {"label": "Bucket", "source": "mqtt", **more}, expect=422)

    assert [error["field"] for error in body["errors"]] == [field]
    assert len(rig.get("/probes")["items"]) == 0


def test_a_declared_probe_tells_what_it_listens_to_and_others_tell_nothing(rig: Rig) -> None:
    rig.rounds(1)
    made = rig.post("/probes", {"label": "Bucket", "source": "mqtt", "topic": "cellar/+", "path": "c"})

    assert (made["source"], made["topic"], made["path"], made["time_path"]) == ("mqtt", "cellar/+", "c", None)
    assert made["interval_s"] == 60
    on_the_bus = rig.get("/probes/28-00000a1b2c3d")
    assert (on_the_bus["topic"], on_the_bus["path"], on_the_bus["time_path"]) == (None, None, None)


def test_a_change_is_looked_at_together_with_what_stays(rig: Rig) -> None:
    rig.post("/probes", {"label": "Bucket", "source": "mqtt", "topic": "cellar", "path": "c"})
    rig.post("/probes", {"label": "Air"})

    for change in ({"topic": None}, {"topic": "a#"}, {"path": None, "time_path": "at"}):
        rig.patch("/probes/bucket", change, expect=422)
    rig.patch("/probes/air", {"topic": "cellar"}, expect=422)
    changed = rig.patch("/probes/bucket", {"topic": "attic", "time_path": "at"})

    assert (changed["topic"], changed["path"], changed["time_path"]) == ("attic", "c", "at")
    assert rig.get("/probes/air")["topic"] is None


def test_a_probe_over_mqtt_takes_no_samples_over_http(rig: Rig) -> None:
    rig.post("/probes", {"label": "Bucket", "source": "mqtt", "topic": "cellar"})

    rig.post("/probes/bucket/samples", {"samples": []}, expect=409)
