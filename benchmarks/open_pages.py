"""What fifty open pages cost the service, and how soon an event is with them.

Run: python -m benchmarks.open_pages [minutes]. The pages are real HTTP clients that listen to the stream of
events, ask for the first page when a page does (at its opening, at an alarm or a stage, each minute) and for
the day's chart; no browser draws them. Budgets: under 5 % of one core; 1 s from the commit to the page.
"""

import json
import statistics
import sys
import tempfile
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

import httpx

from benchmarks.running import PROBES, spent
from tests.emulated.tree import EmulatedTree
from tests.running import Running, eventually

PAGES = 50
RENEW_S = 60.0
CHART_EACH = 5
STAGE = {"key": "primary", "kind": "primary", "target_c": 18.5, "ends": "brewer"}


class OpenPage(threading.Thread):
    """One page as the service sees it."""

    def __init__(self, url: str, batch: str, late_s: float) -> None:
        super().__init__(daemon=True)
        self.heard: list[tuple[float, str, dict[str, object]]] = []
        self.renewals: list[float] = []
        self.ended = threading.Event()
        self._url = url
        self._batch = batch
        self._late_s = late_s

    def run(self) -> None:
        """Open, listen, ask again when a page would."""
        time.sleep(self._late_s)
        with httpx.Client(base_url=self._url, timeout=30, trust_env=False) as client:
            client.get("/")
            self._chart(client)
            threading.Thread(target=self._minutes, args=(client,), daemon=True).start()
            with client.stream("GET", "/api/v1/events", timeout=None) as events:
                kind = ""
                for line in events.iter_lines():
                    if self.ended.is_set():
                        return
                    if line.startswith("event:"):
                        kind = line.removeprefix("event:").strip()
                    elif line.startswith("data:"):
                        self.heard.append((time.time(), kind, json.loads(line.removeprefix("data:"))))
                        if kind in ("alarm", "stage", "estimate"):
                            self._renew(client)

    def _minutes(self, client: httpx.Client) -> None:
        minute = 0
        while not self.ended.wait(RENEW_S):
            minute += 1
            self._renew(client)
            if minute % CHART_EACH == 0:
                self._chart(client)

    def _chart(self, client: httpx.Client) -> None:
        now = int(time.time())
        address = f"/batches/{self._batch}/chart"
        client.get(address, params={"from": now - 86400, "to": now, "points": 300}).raise_for_status()

    def _renew(self, client: httpx.Client) -> None:
        client.get("/").raise_for_status()
        self.renewals.append(time.time())

    def renewed_since(self, at: float) -> float | None:
        """When it was first renewed after a time."""
        return next((when for when in self.renewals if when > at), None)


def delays(
    running: Running, batch: str, pages: list[OpenPage], times: int
) -> tuple[list[float], list[float]]:
    """Seconds from asking for a change, its commit included, until each page hears of it, and is renewed."""
    heard, renewed = [], []
    for _ in range(times):
        marks = [len(page.heard) for page in pages]
        asked = time.time()
        running.post(f"/batches/{batch}/advance", {"to": "cold"})
        for page, mark in zip(pages, marks, strict=True):
            heard.append(
                eventually(lambda page=page, mark=mark: _stage(page, mark), 10, "a page hears") - asked
            )
            renewed.append(
                eventually(lambda page=page, since=asked: page.renewed_since(since), 10, "it is renewed")
                - asked
            )
        running.post(f"/batches/{batch}/undo")
        time.sleep(3)
    return heard, renewed


def _stage(page: OpenPage, mark: int) -> float | None:
    return next((at for at, kind, _ in page.heard[mark:] if kind == "stage"), None)


def sample_delays(pages: list[OpenPage], since: float) -> list[float]:
    """Seconds from when a sample was taken until a page has it; it is published as soon as it is judged."""
    return [
        at - datetime.fromisoformat(str(data["at"])).astimezone(UTC).timestamp()
        for page in pages
        for at, kind, data in page.heard
        if kind == "sample" and at >= since
    ]


def main() -> None:
    """Print the figures."""
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else 3.0
    with (
        tempfile.TemporaryDirectory() as name,
        EmulatedTree(PROBES, speed=1) as tree,
        Running(Path(name) / "data", tree.root, sweep_s=10) as running,
    ):
        eventually(lambda: len(running.get("/probes")["items"]) == len(PROBES), 30, "all probes")
        vessel = running.post("/vessels", {"name": "Bucket", "volume_l": 5})["id"]
        running.patch(f"/probes/{next(iter(PROBES))}", {"vessel_id": vessel, "role": "liquid"})
        plan = {"name": "Long", "stages": [STAGE, {"key": "cold", "kind": "crash", "target_c": 3}]}
        batch = running.post("/batches", {"name": "Long", "vessel_id": vessel, "plan": plan})["id"]
        time.sleep(20)
        quiet, took = _share(running, 60)
        pages = [OpenPage(running.url, batch, RENEW_S / PAGES * n) for n in range(PAGES)]
        for page in pages:
            page.start()
        time.sleep(RENEW_S + 5)
        since = time.time()
        share, took = _share(running, minutes * 60)
        samples = sample_delays(pages, since)
        stages, renewals = delays(running, batch, pages, 5)
        for page in pages:
            page.ended.set()
    print(f"processor, no page open     {quiet:6.2f} % of one core, over 60 s")
    print(f"processor, {PAGES} pages open    {share:6.2f} % of one core, over {took:.0f} s   (budget 5)")
    print(f"each page asked anew        {sum(len(p.renewals) for p in pages) / PAGES:6.1f} times on average")
    print("from the request of a change, so a little more than from its commit   (budget 1000 ms)")
    tell("  until a page hears of it", stages)
    tell("  until it is asked anew, 50 at once", renewals)
    tell("from the beginning of a sweep, which takes about a second, to a page", samples)


def tell(what: str, seconds: list[float]) -> None:
    """Print a line of delays."""
    median, most = statistics.median(seconds) * 1000, max(seconds) * 1000
    print(f"{what:36s} {median:6.0f} ms median, {most:6.0f} ms at most, {len(seconds)} times")


def _share(running: Running, seconds: float) -> tuple[float, float]:
    before, _ = spent(running.pid)
    began = time.monotonic()
    time.sleep(seconds)
    after, _ = spent(running.pid)
    took = time.monotonic() - began
    return (after - before) / took * 100, took


if __name__ == "__main__":
    main()
