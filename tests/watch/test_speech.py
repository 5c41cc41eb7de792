from typing import Any

from service.record.outbox import messages
from tests.rig import PROBE, Rig, with_batch

WEBHOOK = {"kind": "webhook", "url": "http://127.0.0.1:9/hook"}


def sent(rig: Rig) -> list[dict[str, Any]]:
    """Every message, oldest first."""
    with rig.record.reading() as connection:
        return [dict(m) for m in reversed(messages(connection))]


def straying(rig: Rig, temp_c: float = 22.6) -> None:
    """A batch whose beer has been too warm for longer than the delay."""
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = temp_c
    rig.until(700)


def test_each_channel_gets_its_own_message(rig: Rig) -> None:
    rig.post("/channels", {**WEBHOOK, "name": "Hall"})
    rig.post("/channels", {**WEBHOOK, "name": "Kitchen"})

    straying(rig)

    assert sorted((m["channel_id"], m["reason"]) for m in sent(rig)) == [
        ("hall", "first"),
        ("kitchen", "first"),
    ]


def test_a_channel_that_came_later_is_told_what_stands(rig: Rig) -> None:
    straying(rig)

    rig.post("/channels", {**WEBHOOK, "name": "Hall"})
    rig.rounds(2)

    assert [(m["channel_id"], m["reason"]) for m in sent(rig)] == [("hall", "first")]


def test_a_channel_for_urgent_things_only_is_spared_the_rest(rig: Rig) -> None:
    rig.post("/channels", {**WEBHOOK, "name": "Hall", "least_priority": "high"})
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 17.9

    rig.until(900)

    assert rig.standing()["below-band"]["priority"] == "medium"
    assert sent(rig) == []


def test_quiet_hours_hold_a_message_back_until_they_end(rig: Rig) -> None:
    quiet = {"every-day": {"from": "07:00", "to": "09:00"}}
    rig.post("/channels", {**WEBHOOK, "name": "Hall", "quiet_hours": quiet})
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 17.9

    rig.until(1800)
    during = sent(rig)
    rig.until(1900)

    assert during == []
    assert [m["reason"] for m in sent(rig)] == ["end-of-quiet-hours"]


def test_what_is_urgent_passes_quiet_hours(rig: Rig) -> None:
    quiet = {"every-day": {"from": "07:00", "to": "09:00"}}
    rig.post("/channels", {**WEBHOOK, "name": "Hall", "quiet_hours": quiet})

    straying(rig)

    assert [m["priority"] for m in sent(rig)] == ["high"]


def test_acknowledging_ends_the_reminders(rig: Rig) -> None:
    rig.post("/channels", {**WEBHOOK, "name": "Hall"})
    straying(rig)
    rig.until(1200)
    reminded = len(sent(rig))

    rig.post(f"/alarms/{rig.standing()['above-band']['id']}/acknowledge")
    rig.until(7200)

    assert reminded == 2
    assert len(sent(rig)) == 2


def test_a_return_is_told_once(rig: Rig) -> None:
    rig.post("/channels", {**WEBHOOK, "name": "Hall"})
    straying(rig)
    rig.source.values[PROBE] = 20.0

    rig.until(1500)

    assert [m["reason"] for m in sent(rig)] == ["first", "returned"]
    assert "over" in sent(rig)[-1]["title"]


def test_what_comes_of_one_vessel_within_a_minute_is_one_message(rig: Rig) -> None:
    rig.post("/channels", {**WEBHOOK, "name": "Hall"})
    plan = {
        "name": "Two prompts",
        "stages": [
            {
                "key": "primary",
                "kind": "primary",
                "target_c": 20,
                "lasts_s": 864000,
                "ends": "brewer",
                "prompts": [{"at_s": 600, "say": "Dry hops"}, {"at_s": 630, "say": "Stir the hops"}],
            }
        ],
    }
    with_batch(rig, plan)

    rig.until(900)

    assert len(sent(rig)) == 1
    assert "Dry hops" in sent(rig)[0]["text"]
    assert "Stir the hops" in sent(rig)[0]["text"]
    assert len(sent(rig)[0]["alarms"]) == 2


def test_a_flood_goes_as_few_messages_and_hides_nothing(rig: Rig) -> None:
    rig.rounds(1)
    rig.post("/channels", {**WEBHOOK, "name": "Hall"})
    plan = {
        "name": "Prompt",
        "stages": [
            {
                "key": "primary",
                "kind": "primary",
                "target_c": 20,
                "lasts_s": 864000,
                "ends": "brewer",
                "prompts": [{"at_s": 60, "say": "Look in"}],
            }
        ],
    }
    for n in range(30):
        vessel = rig.post("/vessels", {"name": f"Bucket {n}"})["id"]
        rig.post("/batches", {"name": f"Batch {n}", "vessel_id": vessel, "plan": plan})

    rig.until(300)

    assert len(rig.get("/alarms", standing="true", limit=100)["items"]) == 30
    assert len([m for m in sent(rig) if m["state"] == "waiting"]) <= 10
    assert sum(len(m["alarms"]) for m in sent(rig) if m["state"] == "waiting") == 30
