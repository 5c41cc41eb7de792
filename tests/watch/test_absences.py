import re
from datetime import timedelta
from typing import Any

from service.record.outbox import messages
from service.watch.outbox import StoredOutbox
from tests.rig import PROBE, START, Rig, with_batch

WEBHOOK = {"kind": "webhook", "url": "http://127.0.0.1:9/hook"}


def sent(rig: Rig, channel: str) -> list[dict[str, Any]]:
    """Every message of a channel, oldest first."""
    with rig.record.reading() as connection:
        return [dict(m) for m in reversed(messages(connection)) if m["channel_id"] == channel]


def at(hours: float) -> str:
    return (START + timedelta(hours=hours)).isoformat()


def away(rig: Rig, from_h: float = -1.0, to_h: float = 10.0) -> str:
    """A brewer's and a helper's channel, and an absence; returns its id."""
    rig.post("/channels", {**WEBHOOK, "name": "Brewer"})
    rig.post("/channels", {**WEBHOOK, "name": "Neighbour", "for_helper": True})
    body = {"from": at(from_h), "to": at(to_h), "channel_id": "neighbour"}
    return str(rig.post("/absences", body)["id"])


def test_what_is_not_urgent_goes_to_the_helper_alone_in_three_plain_sentences(rig: Rig) -> None:
    away(rig)
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 17.9

    rig.until(900)

    assert sent(rig, "brewer") == []
    message = sent(rig, "neighbour")[0]
    sentences = message["text"].split("\n")
    assert len(sentences) == 3
    assert sentences[0].startswith("Bucket: ")
    assert "only if you can do so safely" in sentences[2]
    assert re.search(r"http://127\.0\.0\.1:8330/acknowledge/\S+", sentences[2])


def test_what_is_urgent_reaches_both_each_in_its_own_words(rig: Rig) -> None:
    away(rig)
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6

    rig.until(700)

    assert len(sent(rig, "neighbour")[0]["text"].split("\n")) == 3
    assert "The band is 18.5 C to 21.5 C." in sent(rig, "brewer")[0]["text"]


def test_a_helper_hears_nothing_while_the_brewer_is_there(rig: Rig) -> None:
    away(rig, from_h=5)
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6

    rig.until(700)

    assert sent(rig, "neighbour") == []
    assert [m["reason"] for m in sent(rig, "brewer")] == ["first"]


def test_what_stands_when_the_absence_is_over_is_told_to_the_brewer_then(rig: Rig) -> None:
    away(rig, to_h=1.0)
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 17.9

    rig.until(3000)
    before = sent(rig, "brewer")
    rig.until(900)

    assert before == []
    assert [m["reason"] for m in sent(rig, "brewer")] == ["first"]


def test_what_stands_when_it_begins_is_told_to_the_helper(rig: Rig) -> None:
    away(rig, from_h=1.0)
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 17.9

    rig.until(3400)
    before = sent(rig, "neighbour")
    rig.until(600)

    assert before == []
    assert [m["reason"] for m in sent(rig, "neighbour")] == ["first"]


def test_when_messages_do_not_reach_the_helper_the_brewer_hears_everything(rig: Rig) -> None:
    away(rig)
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 17.9
    rig.until(900)
    waiting = sent(rig, "neighbour")[0]["id"]
    StoredOutbox(rig.record).retry(waiting, rig.clock.at, rig.clock.at + timedelta(hours=1), "refused")
    rig.until(3900)

    assert rig.standing()["channel-failing"]["reason"].endswith("refused")
    told = [a["key"] for m in sent(rig, "brewer") for a in m["alarms"]]
    assert {"channel-failing", "below-band"} <= set(told)
    assert "channel-failing" not in [a["key"] for m in sent(rig, "neighbour") for a in m["alarms"]]


def test_an_absence_is_listed_changed_and_taken_out(rig: Rig) -> None:
    absence = away(rig)

    changed = rig.patch(f"/absences/{absence}", {"to": at(20), "note": "Key under the pot"})

    assert changed["to"] == "2026-11-26T04:00:00Z"
    assert rig.get("/absences")["items"] == [changed]
    assert rig.client.delete(f"/api/v1/absences/{absence}").status_code == 204
    assert rig.get("/absences")["items"] == []
    assert rig.client.delete(f"/api/v1/absences/{absence}").status_code == 404


def test_an_absence_with_a_mistake_is_refused_in_words(rig: Rig) -> None:
    away(rig)
    body = {"from": at(20), "to": at(30), "channel_id": "neighbour"}
    cases: list[tuple[dict[str, Any], str]] = [
        ({**body, "to": at(19)}, "/to"),
        ({**body, "from": at(-9), "to": at(-8)}, "/to"),
        ({**body, "to": at(24 * 400)}, "/to"),
        ({**body, "channel_id": "nobody"}, "/channel_id"),
        ({**body, "from": "2026-11-26T04:00:00"}, "/from"),
        ({**body, "until": at(30)}, "/until"),
    ]

    for wrong, field in cases:
        assert rig.post("/absences", wrong, expect=422)["errors"][0]["field"] == field
    assert "same time" in rig.post("/absences", {**body, "from": at(5)}, expect=409)["detail"]


def test_a_channel_that_an_absence_names_cannot_be_taken_away(rig: Rig) -> None:
    absence = away(rig)

    refused = rig.client.delete("/api/v1/channels/neighbour")
    rig.client.delete(f"/api/v1/absences/{absence}")

    assert refused.status_code == 409
    assert absence in refused.json()["detail"]
    assert rig.client.delete("/api/v1/channels/neighbour").status_code == 204


def test_times_of_an_absence_cannot_be_cleared(rig: Rig) -> None:
    absence = away(rig)

    assert rig.patch(f"/absences/{absence}", {"to": None}, expect=422)["errors"][0]["field"] == "/to"
    assert rig.patch(f"/absences/{absence}", {"from": None}, expect=422)["errors"]
