"""A trial message to a channel: it leaves at once, and what the far end said is the answer."""

import json

import pytest

from tests.notify.receivers import Answer, http_receiver
from tests.rig import PROBE, Rig, with_batch
from tests.running import free_port

SECRET = "t0ken-of-the-hall"


def channel_to(rig: Rig, url: str) -> None:
    rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": url})


def test_a_trial_message_arrives_and_the_far_end_is_quoted(rig: Rig) -> None:
    with http_receiver(Answer(200)) as receiver:
        channel_to(rig, receiver.url)

        told = rig.post("/channels/hall/test")

    (arrived,) = [json.loads(one.body) for one in receiver.received]
    assert told["delivered"] is True
    assert told["far_end"] == "200 OK"
    assert arrived["reason"] == "test"
    assert "Nothing is wrong." in arrived["text"]
    assert arrived["alarms"] == []


@pytest.mark.parametrize("status", [404, 429, 500])
def test_a_refusal_is_told_with_the_words_of_the_far_end(rig: Rig, status: int) -> None:
    with http_receiver(Answer(status, headers={"Content-Type": "text/plain"}, body=b"not today")) as receiver:
        channel_to(rig, f"{receiver.url}?key={SECRET}")

        told = rig.post("/channels/hall/test")

    assert told["delivered"] is False
    assert told["far_end"].count(f" {status} ") == 1
    assert "not today" in told["far_end"]
    assert SECRET not in told["far_end"]


def test_nobody_listening_is_told_and_keeps_no_alarm_from_leaving_later(rig: Rig) -> None:
    channel_to(rig, f"http://127.0.0.1:{free_port()}/{SECRET}")
    with_batch(rig)
    rig.rounds(2)

    told = rig.post("/channels/hall/test")
    rig.source.values[PROBE] = 22.6
    rig.until(700)

    assert told["delivered"] is False
    assert told["far_end"]
    assert SECRET not in told["far_end"]
    assert "above-band" in rig.standing()
    assert "channel-failing" not in rig.standing()


def test_a_channel_that_is_not_there_is_not_found(rig: Rig) -> None:
    rig.post("/channels/nowhere/test", expect=404)
