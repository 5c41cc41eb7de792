"""How soon the first chart is on the screen of a phone, and what the page weighs.

Run: python -m benchmarks.first_chart [repeats]. Chromium with its processor slowed four times opens the page
of a batch with 30 days of data, and beside it, in the same run and turn by turn, a bare page: the chart
library, the same points, nothing else. Each opening has an empty cache. Budgets: 1.5 times the bare page,
150 kB.
"""

import json
import os
import shutil
import statistics
import sys
import tempfile
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, sync_playwright

from benchmarks.filled import BATCH, fill
from tests.running import Running, eventually

REPEATS = 9
SLOWER = 4
PHONE = {"width": 390, "height": 844}
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-component-update",
    "--disable-background-networking",
    "--disable-sync",
)
WATCH = """
new MutationObserver((_, watching) => {
  if (!document.querySelector('.uplot')) return;
  watching.disconnect();
  requestAnimationFrame(() => setTimeout(() => { window.firstChart = performance.now(); }, 0));
}).observe(document, { childList: true, subtree: true });
"""
"""The frame in which the chart is there has been handed over when the task after it runs."""
BARE = b"""<!doctype html><html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>Bare</title>
<link rel="stylesheet" href="/uplot.min.css"><script src="/uplot.min.js" defer></script>
<script src="/bare.js" defer></script></head><body><div id="chart"></div></body></html>"""
SCRIPT = b"""fetch("/points.json").then((answer) => answer.json()).then(({ data }) => new uPlot({
  width: document.getElementById("chart").clientWidth, height: 340,
  series: [{}, { stroke: "#16202a", width: 2 }, {}, {}, { stroke: "#58707f", width: 1.5 }, {}, {}],
  bands: [{ series: [3, 2], fill: "#16202a2e" }, { series: [6, 5], fill: "#58707f2e" }],
}, data, document.getElementById("chart")));"""


def columns(series: Mapping[str, Any]) -> list[list[Any]]:
    """Time in seconds, then mean, lowest and highest of each probe, as the chart library reads them."""
    times = [datetime.fromisoformat(t).timestamp() for t in series["probes"][0]["t"]]
    return [times, *(probe[name] for probe in series["probes"] for name in ("mean_c", "min_c", "max_c"))]


def bare(points: bytes) -> ThreadingHTTPServer:
    """The bare page and what belongs to it, on a port of its own."""
    vendor = files("web") / "static" / "vendor"
    sent = {
        "/": ("text/html", BARE),
        "/bare.js": ("text/javascript", SCRIPT),
        "/points.json": ("application/json", points),
        "/uplot.min.js": ("text/javascript", (vendor / "uplot.min.js").read_bytes()),
        "/uplot.min.css": ("text/css", (vendor / "uplot.min.css").read_bytes()),
    }

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_GET(self) -> None:
            kind, body = sent.get(self.path, ("text/plain", b""))
            self.send_response(200 if body else 404)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server


@dataclass(frozen=True, slots=True)
class Opening:
    """ms: from the start until the chart is drawn; answered_ms: until the page arrives; weight: bytes."""

    ms: float
    answered_ms: float
    weight: int


def opened(browser: Browser, url: str) -> Opening:
    """Open a page once, with nothing kept from before."""
    context = browser.new_context(viewport=PHONE, device_scale_factor=2)  # type: ignore[arg-type]
    page = context.new_page()
    page.add_init_script(WATCH)
    hand = context.new_cdp_session(page)
    hand.send("Network.enable")
    hand.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    came = [0]
    hand.on("Network.loadingFinished", lambda event: came.append(int(event["encodedDataLength"])))
    page.goto(url, wait_until="commit")
    taken = eventually(lambda: page.evaluate("window.firstChart"), 60, "the first chart")
    answered = page.evaluate("performance.getEntriesByType('navigation')[0].responseStart")
    page.wait_for_timeout(300)
    context.close()
    return Opening(float(taken), float(answered), sum(came))


def main() -> None:
    """Print the figures."""
    repeats = int(sys.argv[1]) if len(sys.argv) > 1 else REPEATS
    chromium = shutil.which("chromium") or "chromium"
    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        folder = Path(name) / "data"
        folder.mkdir()
        fill(folder, datetime.now(UTC))
        with Running(folder, sweep_s=10) as running:
            series = running.get(f"/batches/{BATCH}/series", points=800)
            server = bare(json.dumps({"data": columns(series)}).encode())
            pages = {
                "bare page": f"http://127.0.0.1:{server.server_port}/",
                "page of a batch": f"{running.url}/batches/{BATCH}",
                "first page": f"{running.url}/",
            }
            browser = driver.chromium.launch(executable_path=chromium, args=list(QUIET))
            found: dict[str, list[Opening]] = {which: [] for which in pages}
            for turn in range(repeats + 1):
                for which, url in pages.items():
                    seen = opened(browser, url)
                    if turn:  # the first turn warms the browser's own code
                        found[which].append(seen)
            browser.close()
            server.shutdown()
    points = len(series["probes"][0]["t"])
    print(f"30 days, 2 probes at {points} points, processor slowed {SLOWER} times, {repeats} openings each")
    print(f"load of this machine meanwhile: {', '.join(f'{load:.1f}' for load in os.getloadavg())}")
    peers = [one.ms for one in found["bare page"]]
    for which, openings in found.items():
        ms = statistics.median(one.ms for one in openings)
        times = statistics.median(one.ms / peer for one, peer in zip(openings, peers, strict=True))
        answered = statistics.median(one.answered_ms for one in openings)
        weight = max(one.weight for one in openings) / 1000
        print(
            f"{which:16s} {ms:6.0f} ms, {times:5.2f} times the bare page beside it, {weight:6.1f} kB"
            f"   (answered after {answered:.0f} ms; all: {', '.join(f'{one.ms:.0f}' for one in openings)})"
        )
    print("medians; budgets: page of a batch 1.5 times the bare page, 150 kB")


if __name__ == "__main__":
    main()
