"""A storm of alarms on the running program, killed again and again, and what must be true afterwards.

Pushed temperatures stray and come back, alarms are shelved and acknowledged, several channels are told of
it all. Every handling carries a number of its own in its reason, so that each can be found in the record,
or missed in it. What the record says was sent is compared with what really arrived.
"""

import json
import random
import threading
import time
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import httpx
from sqlalchemy import func, select

from service.errors import NotFoundError
from service.notify.config import channel_from
from service.notify.delivery import Deliverer
from service.notify.open_channels import OpenChannels
from service.record.database import Record, open_record
from service.record.outbox import channel_by_id
from service.record.tables import alarm, alarm_transition, message
from service.watch.outbox import StoredOutbox
from tests.notify.receivers import HttpReceiver
from tests.running import Running

PLAN: dict[str, Any] = {
    "name": "Stormy",
    "stages": [
        {
            "key": "primary",
            "kind": "primary",
            "target_c": 20,
            "low_c": 18.5,
            "high_c": 21.5,
            "lasts_s": 777600,
            "ends": "brewer",
            "alarm_after_s": 0,
            "clear_after_s": 0,
        }
    ],
}


@dataclass(slots=True)
class Asked:
    """What was asked by number: answered with yes (so committed), or cut off (so perhaps)."""

    confirmed: set[int] = field(default_factory=set)
    unknown: set[int] = field(default_factory=set)
    seen: set[str] = field(default_factory=set)


class Storm(threading.Thread):
    """Makes weather until it is told to stop; carries on through every death of the program."""

    def __init__(self, running: Running, vessels: int, seed: int) -> None:
        super().__init__(name="storm", daemon=True)
        self._client = httpx.Client(base_url=f"{running.url}/api/v1", timeout=5)
        self._chance = random.Random(seed)
        self._vessels = vessels
        self._warm: dict[int, bool] = {}
        self._number = 0
        self.asked = Asked()
        self.over = threading.Event()

    def run(self) -> None:
        while not self.over.is_set():
            try:
                self._gust()
            except httpx.HTTPError:
                time.sleep(0.02)
        self._client.close()

    def _gust(self) -> None:
        n = self._chance.randrange(self._vessels)
        warm = not self._warm.get(n, False)
        at = datetime.now(UTC).isoformat()
        body = {"samples": [{"at": at, "temp_c": 22.6 if warm else 20.0}]}
        if self._client.post(f"/probes/probe-{n}/samples", json=body).status_code == 200:
            self._warm[n] = warm
        alarms = self._client.get("/alarms", params={"standing": "true"}).json()["items"]
        self.asked.seen |= {one["id"] for one in alarms}
        if alarms:
            self._handle(self._chance.choice(alarms)["id"])

    def _handle(self, alarm_id: str) -> None:
        self._number += 1
        number = self._number
        what, body = self._chance.choice(
            [
                ("acknowledge", {"note": f"no. {number}."}),
                ("shelve", {"for_s": 60, "reason": f"no. {number}."}),
            ]
        )
        self.asked.unknown.add(number)
        answer = self._client.post(f"/alarms/{alarm_id}/{what}", json=body)
        self.asked.unknown.discard(number)
        if answer.status_code == 200:
            self.asked.confirmed.add(number)


def set_up(running: Running, receiver: HttpReceiver, vessels: int, channels: int) -> None:
    """Vessels, each with a pushed probe and a batch, and channels that all lead to the receiver."""
    for n in range(vessels):
        vessel = running.post("/vessels", {"name": f"Bucket {n}", "volume_l": 5})["id"]
        probe = {"label": f"Probe {n}", "vessel_id": vessel, "role": "liquid", "interval_s": 3600}
        running.post("/probes", probe)
        now = datetime.now(UTC).isoformat()
        running.post(f"/probes/probe-{n}/samples", {"samples": [{"at": now, "temp_c": 20.0}]})
        running.post("/batches", {"name": f"Batch {n}", "vessel_id": vessel, "plan": PLAN})
    for n in range(channels):
        running.post("/channels", {"kind": "webhook", "name": f"Way {n}", "url": f"{receiver.url}/{n}"})


def kill_again_and_again(
    running: Running, kills: int, seed: int, tell: Callable[[int], None] = lambda _done: None
) -> int:
    """Kill at random moments, some of them while it is still starting; returns the kills done.

    tell: is told how many were done, after each.
    """
    chance = random.Random(seed)
    for n in range(kills):
        if chance.random() < 0.2:
            _kill_while_starting(running, chance.uniform(0.0, 1.2))
        else:
            time.sleep(chance.uniform(0.05, 1.5))
            running.kill()
        tell(n + 1)
        if n + 1 < kills:
            running.start()
    return kills


def _kill_while_starting(running: Running, after_s: float) -> None:
    """One kill that ends the running program quietly, and the one meant: into the start that follows."""
    running.kill()
    before = running.pid

    def strike() -> None:
        while running.pid == before:
            time.sleep(0.001)
        time.sleep(after_s)
        running.kill()

    striker = threading.Thread(target=strike, daemon=True)
    striker.start()
    with suppress(AssertionError):
        running.start()
    striker.join()


@dataclass(frozen=True, slots=True)
class Verdict:
    """What became of it all. Every `lost`, `invented` and `broken` must be empty.

    repeats: by message, how often more than once it arrived.
    """

    transitions: int
    confirmed: int
    messages: int
    arrived: int
    lost_transitions: Sequence[str]
    invented_transitions: Sequence[str]
    broken_histories: Sequence[str]
    lost_messages: Sequence[str]
    invented_messages: Sequence[str]
    repeats: Counter[str]

    @property
    def wrong(self) -> list[str]:
        """Everything that must not be."""
        return [
            *self.lost_transitions,
            *self.invented_transitions,
            *self.broken_histories,
            *self.lost_messages,
            *self.invented_messages,
        ]


def judge(folder: Path, asked: Asked, receiver: HttpReceiver) -> Verdict:
    """Deliver what still waits in the record, then compare it with what was asked and what arrived."""
    record = open_record(folder, None, time.monotonic)
    try:
        assert record.damage() == ""
        _drain(record)
        return _compared(record, asked, receiver)
    finally:
        record.close()


def _drain(record: Record) -> None:
    """Let everything leave, at the times at which it is due."""
    outbox = StoredOutbox(record)
    clock = [datetime.now(UTC)]

    def config(channel_id: str) -> Any:
        try:
            with record.reading() as connection:
                return channel_by_id(connection, channel_id).config
        except NotFoundError:
            return None

    deliverer = Deliverer(
        outbox,
        OpenChannels(config, channel_from),
        lambda: clock[0],
        threading.Event(),
        lambda: 0.0,
        zone=ZoneInfo("UTC"),
    )
    until = time.monotonic() + 60
    while (due := outbox.next_due_at()) is not None:
        assert time.monotonic() < until, "the outbox does not empty"
        clock[0] = max(clock[0], due + timedelta(milliseconds=1))
        deliverer.run_once()
        while deliverer.busy():
            time.sleep(0.002)


def _compared(record: Record, asked: Asked, receiver: HttpReceiver) -> Verdict:
    with record.reading() as connection:
        transitions = [
            dict(row._mapping)
            for row in connection.execute(select(alarm_transition).order_by(alarm_transition.c.id))
        ]
        states = {row.id: row.state for row in connection.execute(select(alarm.c.id, alarm.c.state))}
        rows = {row.id: dict(row._mapping) for row in connection.execute(select(message))}
        assert connection.execute(select(func.count()).select_from(message)).scalar_one() == len(rows)
    bodies = [json.loads(one.body) for one in receiver.received]
    counts = Counter(str(body["id"]) for body in bodies)
    numbers = Counter(
        int(t["cause"].rpartition("no. ")[2].rstrip("."))
        for t in transitions
        if t["event"] in ("acknowledged", "shelved")
    )
    return Verdict(
        transitions=len(transitions),
        confirmed=len(asked.confirmed),
        messages=len(rows),
        arrived=len(bodies),
        lost_transitions=[f"handling {n} was confirmed and is gone" for n in asked.confirmed - set(numbers)]
        + [f"alarm {a} was seen and is gone" for a in asked.seen if int(a.removeprefix("a-")) not in states],
        invented_transitions=[f"handling {n} is there {c} times" for n, c in numbers.items() if c > 1]
        + [f"handling {n} was never asked" for n in set(numbers) - asked.confirmed - asked.unknown],
        broken_histories=broken(transitions, states),
        lost_messages=lost(rows, bodies, counts),
        invented_messages=[
            f"{name} was never committed"
            for name in counts
            if name.startswith("m-") and int(name.removeprefix("m-")) not in rows
        ]
        + changed(bodies),
        repeats=Counter({name: count - 1 for name, count in counts.items() if count > 1}),
    )


def broken(transitions: Sequence[dict[str, Any]], states: dict[int, str]) -> list[str]:
    """Alarms whose transitions do not lead from one to the next and to the state they have."""
    last: dict[int, str] = {}
    wrong = []
    for t in transitions:
        number = t["alarm_id"]
        if number is None:
            continue
        if t["before"] != last.get(number, "normal"):
            wrong.append(f"a-{number} went from {last.get(number)} to {t['before']} unseen")
        last[number] = t["after"]
    wrong += [f"a-{n} is {state}, not {last.get(n)}" for n, state in states.items() if last.get(n) != state]
    return wrong


def lost(
    rows: dict[int, dict[str, Any]], bodies: Sequence[dict[str, Any]], counts: Counter[str]
) -> list[str]:
    """Messages that are not settled, or count as sent and never arrived, by themselves or with others."""
    together = [body["text"] for body in bodies if body["reason"] == "merged"]
    wrong = []
    for number, row in rows.items():
        if row["state"] == "merged":
            into = rows[int(row["far_end"].rpartition("m-")[2])]
            if into["state"] == "sent" and row["text"] not in into["text"]:
                wrong.append(f"m-{number} is not in the message it went with")
        elif row["state"] != "sent":
            wrong.append(f"m-{number} is {row['state']}: {row['far_end']}")
        elif not counts[f"m-{number}"] and not any(row["title"] in text for text in together):
            wrong.append(f"m-{number} counts as sent and never arrived")
    return wrong


def changed(bodies: Sequence[dict[str, Any]]) -> list[str]:
    """Messages whose repeat was not the same."""
    first: dict[str, dict[str, Any]] = {}
    return [f"{b['id']} came in two versions" for b in bodies if first.setdefault(b["id"], b) != b]
