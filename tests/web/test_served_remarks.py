"""What the first page says of what would not be told, waits, or cannot be seen."""

from tests.rig import PROBE, Rig, with_batch
from tests.web.served_pages import page
from tests.web.visitor import Visitor

HOOK = {"kind": "webhook", "url": "http://127.0.0.1:9/hook"}


def test_the_first_page_warns_when_nobody_would_be_told(rig: Rig, visitor: Visitor) -> None:
    with_batch(rig)
    without = page(visitor, "/").one(id="nobody-told").text
    rig.post("/channels", {**HOOK, "name": "Neighbour", "for_helper": True})
    helper_only = page(visitor, "/").all(id="nobody-told")
    rig.post("/channels", {**HOOK, "name": "Mine"})

    assert without.startswith("Nobody would be told.")
    assert len(helper_only) == 1
    assert page(visitor, "/").all(id="nobody-told") == []


def test_a_vessel_says_until_when_its_band_alarms_wait(rig: Rig, visitor: Visitor) -> None:
    rig.source.values[PROBE] = 16.0
    with_batch(rig)
    rig.rounds(2)
    before = page(visitor, "/").text
    rig.source.values[PROBE] = 20.0
    rig.rounds(5)

    assert "Those of the band wait until it is first reached, or until 14:00" in before
    assert "Those of the band wait" not in page(visitor, "/").text


def test_the_page_of_a_batch_says_until_when_its_band_alarms_wait(rig: Rig, visitor: Visitor) -> None:
    rig.source.values[PROBE] = 16.0
    batch_id = with_batch(rig)
    rig.rounds(2)
    before = page(visitor, f"/batches/{batch_id}").text
    rig.source.values[PROBE] = 20.0
    rig.rounds(5)

    assert "alarms of the band wait until it is first reached, or until 14:00" in before
    assert before.count("alarms of the band wait") == 1
    assert "alarms of the band wait" not in page(visitor, f"/batches/{batch_id}").text


def test_an_alarm_of_a_pulled_probe_says_since_when_it_is_unknown(rig: Rig, visitor: Visitor) -> None:
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(700)
    rig.source.values[PROBE] = None
    rig.until(180)

    assert "Nothing is known of it since 08:12; this was the last." in page(visitor, "/alarms").text
