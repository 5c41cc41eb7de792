"""The page of probes on the real desk: the bus in words, probes over MQTT, a room read by hand."""

from typing import Any

import pytest

from sensors.sample import FaultKind
from tests.rig import PROBE, Rig, with_batch
from tests.web.served_pages import begun, page, send
from tests.web.visitor import Visitor


def bus(visitor: Visitor) -> str:
    return str(page(visitor, "/probes").one("p", data_part="bus").text)


def test_it_says_how_the_bus_was_read_last(rig: Rig, visitor: Visitor) -> None:
    rig.rounds(1)

    assert bus(visitor) == "1 probe was read in 0.80 s by one conversion for all, 10 s ago."


def test_it_counts_what_was_refused_by_kind(rig: Rig, visitor: Visitor) -> None:
    rig.rounds(1)
    rig.source.faults[PROBE] = FaultKind.CRC
    rig.rounds(3)

    assert "Refused in the last hour: crc 3." in page(visitor, "/probes").one("article").text


def test_it_says_where_a_probe_belongs(visitor: Visitor) -> None:
    words = page(visitor, "/probes").one("details", id="mounting").text

    for told in ("half the height", "yeast", "same height", "pipes", "loop", "80 C"):
        assert told in words


def test_it_says_when_the_bus_is_in_trouble_or_slow(rig: Rig, visitor: Visitor) -> None:
    rig.source.trouble = "No probe answers on w1_bus_master1."
    rig.source.notes = ("The probes on w1_bus_master1 are read one after another.",)
    rig.rounds(1)

    assert bus(visitor) == (
        "1 probe was read in 0.80 s, 10 s ago. No probe answers on w1_bus_master1. "
        "The probes on w1_bus_master1 are read one after another."
    )


def test_a_probe_over_mqtt_is_added_by_form_and_says_without_a_broker_that_none_is_set(
    rig: Rig, visitor: Visitor
) -> None:
    form = page(visitor, "/probes").one("form", action="/probes/new")
    typed = {"label": "Cellar", "topic": "cellar/+/temp", "path": "t", "interval_s": "30"}
    assert visitor.post("/probes/new", data=begun(form) | typed).status_code == 303

    probe = rig.get("/probes/cellar")
    assert (probe["source"], probe["topic"], probe["path"], probe["interval_s"]) == (
        "mqtt",
        "cellar/+/temp",
        "t",
        30,
    )
    assert "no broker is set" in probe["health"]["sentence"]
    assert "GYLEWATCH_MQTT_URL" in page(visitor, "/probes").one("div", data_part="probe-cellar").text
    assert "nothing can arrive from Cellar" in bus(visitor)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"label": "Cellar", "topic": "cellar/#/temp"}, "#"),
        ({"label": "Cellar", "topic": "cellar/temp", "time_path": "at"}, "missing beside time_path"),
        ({"label": "Cellar", "topic": "cellar/temp", "interval_s": "soon"}, "not a number"),
    ],
)
def test_what_it_cannot_listen_to_is_refused_beside_its_field(
    rig: Rig, visitor: Visitor, typed: dict[str, Any], words: str
) -> None:
    form = page(visitor, "/probes").one("form", action="/probes/new")

    answer = visitor.post("/probes/new", data=begun(form) | typed)

    assert answer.status_code == 422
    assert words in answer.text
    assert 'id="mqtt" open' in answer.text
    assert [p["id"] for p in rig.get("/probes")["items"]] == []


def test_a_room_is_read_by_hand_into_one_thermometer_of_its_vessel(rig: Rig, visitor: Visitor) -> None:
    with_batch(rig)
    send(visitor, "/probes", "/probes/room", vessel_id="bucket", temp_c="17,5")
    rig.clock.forward(7200)
    send(visitor, "/probes", "/probes/room", vessel_id="bucket", temp_c="18")

    hung = [p for p in rig.get("/probes")["items"] if p["source"] == "typed"]
    assert [(p["vessel_id"], p["role"], p["last"]["temp_c"]) for p in hung] == [
        ("bucket", "surroundings", 18.0)
    ]
    home = page(visitor, "/").one("dl", data_part="facts-bucket").text
    assert "18.0 C Read by hand just now; it stands for the room for 12 hours." in home


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"vessel_id": "bucket", "temp_c": "68"}, "-30"),
        ({"vessel_id": "bucket", "temp_c": "mild"}, "not a number"),
        ({"vessel_id": "bucket", "temp_c": ""}, "Is empty"),
        ({"vessel_id": "", "temp_c": "18"}, "Choose the vessel"),
    ],
)
def test_a_slip_is_told_beside_the_form_and_keeps_nothing(
    rig: Rig, visitor: Visitor, typed: dict[str, str], words: str
) -> None:
    with_batch(rig)
    form = page(visitor, "/probes").one("form", action="/probes/room")

    answer = visitor.post("/probes/room", data=begun(form) | typed)

    assert answer.status_code == 422
    assert words in answer.text
    assert [p["id"] for p in rig.get("/probes")["items"]] == [PROBE]
