"""What must be true of a record after a power cut, and what was known to be true when it came."""

import json
import re
import sqlite3
import threading
from collections.abc import Set
from dataclasses import dataclass
from pathlib import Path

from tests.faults.disk import Disk
from tests.faults.pushing import Pusher
from tests.faults.storm import Storm, broken
from tests.notify.receivers import HttpReceiver

NUMBERED = re.compile(r"no\. (\d+)\.")
LOOKS_PER_S = 200


@dataclass(frozen=True, slots=True)
class Known:
    """What clients and far ends had been told when the disk's list was `written` long."""

    written: int
    handlings: Set[int]
    minutes: Set[int]
    messages: Set[int]


class Notary(threading.Thread):
    """Notes again and again what was confirmed so far, and how long the disk's list is after that."""

    def __init__(self, disk: Disk, storm: Storm, pusher: Pusher, receiver: HttpReceiver) -> None:
        super().__init__(name="notary", daemon=True)
        self._disk, self._storm, self._pusher, self._receiver = disk, storm, pusher, receiver
        self._over = threading.Event()
        self.noted: list[Known] = []

    def run(self) -> None:
        while not self._over.wait(1 / LOOKS_PER_S):
            self.noted.append(self.known())

    def known(self) -> Known:
        """What is confirmed now; the length is read last, so that the list holds all that it rests on."""
        handlings, minutes = frozenset(self._storm.asked.confirmed), frozenset(self._pusher.confirmed)
        messages = arrived(self._receiver)
        return Known(self._disk.written(), handlings, minutes, messages)

    def stop(self) -> None:
        """End it."""
        self._over.set()
        self.join(10)

    def before(self, written: int) -> Known:
        """What was known when the list was that long."""
        nothing = Known(0, frozenset(), frozenset(), frozenset())
        return next((one for one in reversed(self.noted) if one.written <= written), nothing)


def arrived(receiver: HttpReceiver) -> Set[int]:
    """The numbers of the messages that a far end has got by themselves."""
    names = [str(json.loads(one.body)["id"]) for one in list(receiver.received)]
    return frozenset(int(name.removeprefix("m-")) for name in names if name.startswith("m-"))


def losses(folder: Path, known: Known, storm: Storm, pusher: Pusher) -> list[str]:
    """What is wrong with the record in a folder that nobody uses: damaged, lost, torn or invented."""
    try:
        with sqlite3.connect(folder / "record.db") as record:
            wrong = [str(row[0]) for row in record.execute("PRAGMA integrity_check") if row[0] != "ok"]
            record.row_factory = sqlite3.Row
            rows = record.execute("SELECT * FROM alarm_transition ORDER BY id").fetchall()
            transitions = [dict(row) for row in rows]
            states = {row["id"]: row["state"] for row in record.execute("SELECT id, state FROM alarm")}
            messages = {row["id"] for row in record.execute("SELECT id FROM message")}
        record.close()
        minutes = pusher.judge(folder, known.minutes)
    except sqlite3.DatabaseError as unreadable:
        return [f"the record cannot be read: {unreadable}"]
    found = [int(n[1]) for t in transitions if (n := NUMBERED.search(t["cause"] or ""))]
    wrong += [f"handling {n} was confirmed and is lost" for n in sorted(known.handlings - set(found))]
    wrong += [
        f"handling {n} is there more than once" for n in sorted({n for n in found if found.count(n) > 1})
    ]
    wrong += [f"m-{n} had arrived and is lost" for n in sorted(known.messages - messages)]
    asked = storm.asked
    wrong += [f"handling {n} was never asked" for n in sorted(set(found) - asked.confirmed - asked.unknown)]
    return wrong + broken(transitions, states) + minutes
