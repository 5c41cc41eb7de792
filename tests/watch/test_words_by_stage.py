"""What a message says of a stray depends on what the stage is."""

from typing import Any

from service.record.outbox import messages
from tests.rig import PROBE, Rig, with_batch

MASH: dict[str, Any] = {
    "name": "Mash",
    "stages": [
        {"key": "rest", "kind": "mash", "target_c": 67, "lasts_s": 7200, "ends": "time"},
        {"key": "stand", "kind": "stand", "lasts_s": 7200, "ends": "brewer"},
    ],
}


def said(rig: Rig, plan: dict[str, Any] | None, inside_c: float, outside_c: float) -> str:
    rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
    with_batch(rig, plan)
    rig.source.values[PROBE] = inside_c
    rig.rounds(5)
    rig.source.values[PROBE] = outside_c
    rig.until(900)
    with rig.record.reading() as connection:
        return next(str(m["text"]) for m in messages(connection) if "above-band" in str(m["alarms"]))


def test_a_warm_mash_is_told_as_a_mash(rig: Rig) -> None:
    text = said(rig, MASH, 67.0, 71.0)

    assert "mash" in text
    assert "wet cloth" not in text
    assert "Hot wort burns" in text


def test_a_warm_fermenter_is_told_without_a_word_of_a_mash(rig: Rig) -> None:
    text = said(rig, None, 20.0, 22.6)

    assert "mash" not in text
    assert "wet cloth" in text
