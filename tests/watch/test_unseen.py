"""An alarm that stands when its probe falls silent says since when nothing is known of it."""

from service.record.outbox import messages
from tests.rig import PROBE, Rig, with_batch


def test_an_acknowledged_alarm_of_a_pulled_probe_says_since_when_it_is_unknown(rig: Rig) -> None:
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(700)
    alarm = rig.standing()["above-band"]
    rig.post(f"/alarms/{alarm['id']}/acknowledge")

    rig.source.values[PROBE] = None
    rig.until(180)
    unseen = rig.standing()["above-band"]
    rig.source.values[PROBE] = 22.6
    rig.until(120)

    assert alarm["unknown_since"] is None
    assert unseen["state"] == "acknowledged"
    assert "2026-11-25T08:12" <= unseen["unknown_since"] <= "2026-11-25T08:13"
    assert rig.standing()["above-band"]["unknown_since"] is None


def test_a_reminder_of_it_says_so_too(rig: Rig) -> None:
    rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(700)
    rig.source.values[PROBE] = None

    rig.until(1000)

    with rig.record.reading() as connection:
        texts = [m["text"] for m in messages(connection) if "Nobody has acknowledged" in m["text"]]
    assert any("over the band; nothing is known of it since 08:1" in text for text in texts)
