"""From the watch to a far end and back: what cannot leave is noticed, kept, and arrives afterwards."""

import json
import threading
import time
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

from service.notify.config import channel_from
from service.notify.delivery import Deliverer
from service.notify.open_channels import OpenChannels
from service.record.outbox import WAITING, channel_by_id, messages
from service.watch.outbox import StoredOutbox
from tests.notify.receivers import Answer, HttpReceiver, http_receiver
from tests.rig import PROBE, Rig, rig_in, with_batch


class Post:
    """The real deliverer over a rig's record, by the rig's clock, driven by hand."""

    def __init__(self, rig: Rig) -> None:
        self._rig = rig
        self.outbox = StoredOutbox(rig.record)
        self._channels = OpenChannels(self._config, partial(channel_from, now=rig.clock.now))
        self._deliverer = Deliverer(
            self.outbox, self._channels, rig.clock.now, threading.Event(), lambda: 0.5
        )

    def _config(self, channel_id: str) -> Any:
        with self._rig.record.reading() as connection:
            return channel_by_id(connection, channel_id).config

    def round(self) -> None:
        """Send what is due now, and wait until it is settled."""
        self._deliverer.run_once()
        while self._deliverer.busy():
            time.sleep(0.001)

    def close(self) -> None:
        self._channels.close()


def told(receiver: HttpReceiver) -> list[dict[str, Any]]:
    """What arrived."""
    return [json.loads(one.body) for one in receiver.received]


def keys(receiver: HttpReceiver) -> list[str]:
    """The alarms that arrived, by their keys."""
    return [alarm["key"] for body in told(receiver) for alarm in body["alarms"]]


def test_a_channel_that_fails_is_told_on_the_others_and_its_messages_arrive_later(rig: Rig) -> None:
    with http_receiver(Answer(503)) as broken, http_receiver(Answer(200)) as well:
        rig.post("/channels", {"kind": "webhook", "name": "Broken", "url": broken.url})
        rig.post("/channels", {"kind": "webhook", "name": "Well", "url": well.url})
        with_batch(rig)
        rig.rounds(2)
        rig.source.values[PROBE] = 22.6
        post = Post(rig)

        for _ in range(90):
            rig.rounds(6)
            post.round()
        failing = rig.standing()["channel-failing"]
        during = keys(well)
        broken.then(Answer(200))
        for _ in range(150):
            rig.rounds(6)
            post.round()
        post.close()

    assert "503" in failing["reason"]
    assert "channel-failing" in during
    assert "above-band" in keys(broken)
    assert "channel-failing" not in keys(broken)
    assert rig.get(f"/alarms/{failing['id']}")["returned_at"] is not None
    assert rig.get("/channels/broken")["health"]["failing_since"] is None


def test_a_day_without_the_far_end_loses_nothing(rig: Rig) -> None:
    """Every message committed during 24 hours of refusals arrives, by itself or within a merged one."""
    with http_receiver(Answer(500)) as receiver:
        rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": receiver.url})
        with_batch(rig)
        rig.rounds(2)
        post = Post(rig)
        rig.sweep_s = 20
        for n in range(24 * 4):
            rig.source.values[PROBE] = 22.6 if n % 8 < 4 else 20.0
            rig.until(900)
            post.round()
        refused = len(receiver.received)
        receiver.then(Answer(200))
        waiting_s = 0
        while post.outbox.next_due_at() is not None and waiting_s < 6 * 3600:
            rig.clock.forward(60)
            waiting_s += 60
            post.round()
        arrived = told(receiver)[refused:]
        post.close()

    with rig.record.reading() as connection:
        rows = [dict(m) for m in messages(connection, 1000)]
    committed = [m for m in rows if m["state"] != "merged"]
    texts = "\n\n".join(body["text"] for body in arrived)
    assert [m["id"] for m in committed if m["state"] != "sent"] == []
    ids = {body["id"] for body in arrived}
    assert [m["id"] for m in committed if m["title"] not in texts and f"m-{m['id']}" not in ids] == []
    assert len(committed) >= 5
    assert len(arrived) < len(committed)
    assert len({body["id"] for body in arrived}) == len(arrived)
    alarms = {a["id"] for m in committed for a in m["alarms"]}
    assert {a["id"] for body in arrived for a in body["alarms"]} == alarms


def test_a_message_that_waits_leaves_although_the_clock_was_set_back(rig: Rig) -> None:
    with http_receiver(Answer(200)) as receiver:
        rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": receiver.url})
        with_batch(rig)
        rig.rounds(2)
        rig.source.values[PROBE] = 17.9
        rig.until(640)
        post = Post(rig)
        with rig.record.reading() as connection:
            before = [m["state"] for m in messages(connection)]
        rig.clock.at -= timedelta(hours=10)

        post.round()
        post.close()

    assert before == [WAITING]
    assert len(receiver.received) == 1


def test_after_a_power_cut_it_says_how_long_nobody_watched_until_somebody_has_seen_it(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        first.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
        with_batch(first)
        first.until(120)
        clock = first.clock
    clock.forward(3 * 3600)
    with rig_in(tmp_path, 20.0, clock) as second:
        second.until(120)
        alarm = second.standing()["was-down"]
        with second.record.reading() as connection:
            said = [m for m in messages(connection) if "was-down" in str(m["alarms"])]
        clock.forward(0)
    with rig_in(tmp_path, 20.0, clock) as third:
        third.until(60)
        still = third.standing()["was-down"]["id"]
        third.post(f"/alarms/{still}/acknowledge")
        third.until(30)

        assert "nobody watched for 3 h" in alarm["reason"]
        assert len(said) == 1
        assert still == alarm["id"]
        assert "was-down" not in third.standing()


def test_a_short_restart_is_no_news(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        first.until(120)
        clock = first.clock
    clock.forward(200)
    with rig_in(tmp_path, 20.0, clock) as second:
        second.until(120)

        assert "was-down" not in second.standing()
