"""The program's parts put together in one process, with a clock and a source that tests move by hand."""

import atexit
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from starlette.testclient import TestClient

from sensors.bus import RawValue, Sweep
from sensors.sample import FaultKind, ProbeFault, ProbeId
from service.access.door import Access
from service.access.keys import hashed
from service.actions.desk import Desk
from service.alarms.words import Units
from service.api.app import create_app
from service.record.access import accounts, add_session, end_session
from service.record.database import Record, open_record
from service.watch.loop import Watch, WatchSettings
from service.watch.publish import Broker

START = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
PROBE = ProbeId("28-00000a1b2c3d")


@cache
def _empty_record() -> Path:
    """A record fresh from its migrations, made once: most tests have nothing to say about those."""
    folder = Path(tempfile.mkdtemp(prefix="empty-record-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    open_record(folder, None, lambda: 0.0).close()
    return folder / "record.db"


class HandClock:
    """A clock that stands still until it is moved; wall and monotonic time can be moved apart."""

    def __init__(self, at: datetime = START) -> None:
        self.at = at
        self.mono = 1000.0
        self.boot_s = 5000.0
        self.why_not = ""
        self.boot_id = "boot-1"

    def now(self) -> datetime:
        return self.at

    def monotonic(self) -> float:
        return self.mono

    def since_boot_s(self) -> float:
        return self.boot_s

    def doubt(self, newest_row: datetime | None) -> str:
        if newest_row is not None and self.at < newest_row:
            return "the clock shows a time before the newest entry of the record"
        return self.why_not

    def forward(self, seconds: float) -> None:
        """Let time pass."""
        self.at += timedelta(seconds=seconds)
        self.mono += seconds
        self.boot_s += seconds


class HandSource:
    """A source whose probes show what they are told to; a probe set to None is silent."""

    name = "onewire"

    def __init__(self, values: dict[ProbeId, float | None]) -> None:
        self.values = values
        self.faults: dict[ProbeId, FaultKind] = {}
        self.closed = False
        self.trouble = ""
        self.notes: tuple[str, ...] = ()

    def sweep(self, at: datetime) -> Sweep:
        return Sweep(
            present=frozenset(self.values),
            values=tuple(
                RawValue(p, at, v) for p, v in self.values.items() if v is not None and p not in self.faults
            ),
            faults=tuple(ProbeFault(p, at, kind) for p, kind in self.faults.items()),
            took_s=0.8,
            trouble=self.trouble,
            notes=self.notes,
        )

    def close(self) -> None:
        self.closed = True


class Rig:
    """Record, watch, desk and API, driven round by round."""

    def __init__(
        self,
        folder: Path,
        clock: HandClock,
        source: HandSource,
        sweep_s: float = 10.0,
        link_base: str | None = "http://127.0.0.1:8330",
        url: str | None = None,
        access: Access | None = None,
    ) -> None:
        self.folder = folder
        self.link_base = link_base
        self.clock = clock
        self.source = source
        self.sweep_s = sweep_s
        self.told = 0
        if url is None and not (folder / "record.db").exists():
            shutil.copyfile(_empty_record(), folder / "record.db")
        self.record: Record = open_record(folder, url, clock.monotonic)
        self.broker = Broker("test")
        self.watch = self._watch()
        self.desk = Desk(self.record, self.watch, clock.now, ZoneInfo("UTC"), access=access or Access())
        self.app = create_app(self.desk)
        self.client = TestClient(self.app, base_url="http://127.0.0.1:8330", client=("127.0.0.1", 40000))
        with self.record.reading() as connection:
            people = accounts(connection)
        if people:
            self.log_in_as(people[0].id)

    def close(self) -> None:
        """Close the client and the record."""
        self.client.close()
        self.record.close()

    def log_in_as(self, account_id: str) -> str:
        """Let the client in as somebody; returns the secret of the session."""
        secret = f"session-of-{account_id}"
        self.record.write(lambda c: end_session(c, hashed(secret)))
        self.record.write(lambda c: add_session(c, hashed(secret), account_id, self.clock.at, "127.0.0.1"))
        self.client.cookies.set("gylewatch", secret)
        self.client.headers["origin"] = "http://127.0.0.1:8330"
        return secret

    def _watch(self) -> Watch:
        settings = WatchSettings(self.sweep_s, ZoneInfo("UTC"), Units.CELSIUS, self.link_base, self.folder)
        return Watch(self.record, [self.source], self.clock, settings, self.broker, self._tell)

    def _tell(self) -> None:
        self.told += 1

    def rounds(self, count: int) -> None:
        """So many rounds of the watch, an interval apart."""
        for _ in range(count):
            self.watch.round()
            self.clock.forward(self.sweep_s)

    def until(self, seconds: float) -> None:
        """Rounds for so many seconds."""
        self.rounds(round(seconds / self.sweep_s))

    def get(self, path: str, **params: Any) -> Any:
        """GET under the API's base; the answer must be 200."""
        answer = self.client.get(f"/api/v1{path}", params=params)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def post(self, path: str, body: Any = None, expect: int | None = None, **headers: str) -> Any:
        """POST under the API's base."""
        answer = self.client.post(f"/api/v1{path}", json=body, headers=headers)
        wanted = (200, 201) if expect is None else (expect,)
        assert answer.status_code in wanted, answer.text
        return answer.json()

    def patch(self, path: str, body: Any, expect: int = 200) -> Any:
        """PATCH under the API's base."""
        answer = self.client.patch(f"/api/v1{path}", json=body)
        assert answer.status_code == expect, answer.text
        return answer.json()

    def standing(self) -> dict[str, dict[str, Any]]:
        """The standing alarms by their key."""
        return {alarm["key"]: alarm for alarm in self.get("/alarms", standing="true")["items"]}


PLAN: dict[str, Any] = {
    "name": "Stair brown",
    "stages": [
        {
            "key": "primary",
            "kind": "primary",
            "target_c": 20,
            "low_c": 18.5,
            "high_c": 21.5,
            "lasts_s": 777600,
            "ends": "steady-gravity",
        },
        {"key": "cold", "kind": "crash", "target_c": 4, "lasts_s": 172800, "ends": "brewer"},
    ],
}


@contextmanager
def rig_in(
    folder: Path,
    temp_c: float | None = 20.0,
    clock: HandClock | None = None,
    access: Access | None = None,
) -> Iterator[Rig]:
    """A rig with one probe on the bus."""
    rig = Rig(folder, clock or HandClock(), HandSource({PROBE: temp_c}), access=access)
    try:
        yield rig
    finally:
        rig.client.close()
        rig.record.close()


def with_batch(rig: Rig, plan: dict[str, Any] | None = None, **more: Any) -> str:
    """A bucket with the probe in it and a batch that starts now; returns the batch's id."""
    rig.watch.round()
    rig.post("/vessels", {"name": "Bucket", "volume_l": 5})
    rig.patch(f"/probes/{PROBE}", {"vessel_id": "bucket", "role": "liquid"})
    body = {"name": "Stair brown", "vessel_id": "bucket", "plan": plan or PLAN, **more}
    return str(rig.post("/batches", body)["id"])
