"""Pushing one value a minute into the running program, and holding the record against what was confirmed."""

import sqlite3
import threading
from collections.abc import Set
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx

from tests.running import Running

A_BATCH = 20
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def value_of(n: int) -> float:
    """What the probe shows in its n-th minute: whole sixteenths, as a DS18B20 gives them."""
    return 18.0 + (n % 37) / 16


class Pusher:
    """Pushes minute after minute of the past days; remembers what was asked and what was confirmed."""

    def __init__(self, running: Running) -> None:
        self._running = running
        self._began = datetime.now(UTC).replace(second=0, microsecond=0) - timedelta(days=20)
        self._number = 0
        self._stopping = threading.Event()
        self._thread: threading.Thread | None = None
        self.asked: set[int] = set()
        self.confirmed: set[int] = set()
        self.refusals: list[httpx.Response] = []
        body = {"label": "Far bucket", "source": "pushed", "interval_s": 60}
        self.probe = str(running.post("/probes", body)["id"])

    def push(self) -> bool:
        """Push the next minutes; whether they were confirmed. What was not is pushed again next time."""
        batch = range(self._number, self._number + A_BATCH)
        samples = [
            {"at": (self._began + timedelta(minutes=n)).isoformat(), "temp_c": value_of(n)} for n in batch
        ]
        self.asked |= set(batch)
        try:
            answer = self._running.client.post(
                f"/api/v1/probes/{self.probe}/samples", json={"samples": samples}
            )
        except httpx.HTTPError:
            return False
        if answer.status_code != 200:
            self.refusals.append(answer)
            return False
        said = answer.json()
        assert (said["new"] + said["known"], said["refused"]) == (A_BATCH, []), said
        self.confirmed |= set(batch)
        self._number += A_BATCH
        return True

    def start(self) -> None:
        """Push on and on in the background, also while the program is away."""
        self._thread = threading.Thread(target=self._go_on, daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End the pushing."""
        self._stopping.set()
        assert self._thread is not None
        self._thread.join(20)
        assert not self._thread.is_alive()

    def _go_on(self) -> None:
        while not self._stopping.is_set():
            if not self.push():
                self._stopping.wait(0.02)

    def judge(self, folder: Path, confirmed: Set[int] | None = None) -> list[str]:
        """What is wrong with the record: damage, lost or changed minutes, minutes nobody pushed.

        confirmed: the minutes that must be there; all that are confirmed by now unless said.
        """
        confirmed = self.confirmed if confirmed is None else confirmed
        with sqlite3.connect(f"file:{folder / 'record.db'}?mode=ro", uri=True) as record:
            wrong = [str(row[0]) for row in record.execute("PRAGMA integrity_check") if row[0] != "ok"]
            (number,) = record.execute("SELECT number FROM probe WHERE id = ?", (self.probe,)).fetchone()
            rows = record.execute(
                "SELECT minute, mean_mc, below_mc, above_mc, count FROM minute WHERE probe = ?", (number,)
            ).fetchall()
            hours = record.execute("SELECT sum(minutes) FROM hour WHERE probe = ?", (number,)).fetchone()[0]
        first = int((self._began - EPOCH) / timedelta(minutes=1))
        stored = {minute - first: rest for minute, *rest in rows}
        wrong += [f"minute {n} was confirmed and is lost" for n in sorted(confirmed - stored.keys())]
        wrong += [f"minute {n} was never pushed" for n in sorted(stored.keys() - self.asked)]
        for n, rest in sorted(stored.items()):
            if rest != [round(value_of(n) * 1000), 0, 0, 1]:
                wrong.append(f"minute {n} is {rest}")
        if (hours or 0) != len(stored):
            wrong.append(f"the hours hold {hours} minutes, not {len(stored)}")
        return wrong
