"""A real Chromium, and the pages over a fake house behind a real server on this machine."""

import os
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request, sync_playwright

from tests.web import fake_chart, fake_compared, fake_record, fakes
from tests.web.fake_house import FakeHouse
from tests.web.fake_program import Line, program
from web.pages.probes import Choice

PICTURES = Path(__file__).parents[2] / "results" / "pages"
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


class Served:
    """A house on a port of its own; it can be stopped and started again at the same address."""

    def __init__(self, house: FakeHouse) -> None:
        self.house = house
        self.line = Line()
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port: int = free.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self._server: uvicorn.Server | None = None
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        config = uvicorn.Config(
            program(self.house, self.line), port=self.port, log_level="error", timeout_graceful_shutdown=1
        )
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()
        deadline = time.monotonic() + 10
        while not self._server.started:
            assert time.monotonic() < deadline, "the server did not start"
            time.sleep(0.02)

    def stop(self) -> None:
        if self._server is None or self._thread is None:
            return
        self.line.cut()
        self._server.should_exit = True
        self._thread.join(10)
        self._server = self._thread = None


class Watched:
    """A page that remembers what it said to the console and which hosts it asked."""

    def __init__(self, page: Page, url: str) -> None:
        self.page = page
        self.url = url
        self.complaints: list[str] = []
        self.strangers: list[str] = []
        page.on("console", self._said)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", self._asked)

    def open(self, path: str) -> Page:
        self.page.goto(self.url + path)
        return self.page

    def _said(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.complaints.append(message.text)

    def _asked(self, request: Request) -> None:
        if not request.url.startswith((self.url, "data:", "blob:")):
            self.strangers.append(request.url)


@pytest.fixture(scope="package")
def chromium() -> Iterator[Browser]:
    # not for the whole session: while it is open, no other test can run an event loop in this thread
    found = shutil.which("chromium")
    if found is None:
        assert "CI" not in os.environ, "chromium is missing"
        pytest.skip("chromium is not installed")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=found, args=list(QUIET))
        yield browser
        browser.close()


@pytest.fixture
def served() -> Iterator[Served]:
    """Two vessels, one of them above its band, with everything that can stand around them."""
    now = FakeHouse(at=None).now()
    house = FakeHouse(
        [fakes.larger(now), fakes.smaller(now)],
        [fakes.warm(now)],
        at=None,
        past=[fakes.warm(now, fakes.AlarmState.NORMAL)],
        hung=fakes.probes(now),
        ways=fakes.channels(),
        brews=[fakes.brew(now), fake_compared.ended(now)],
        record=fake_record.record(now),
        told=fake_chart.story(now),
        cooking=fake_record.stoves(now),
        lines=fake_record.calibrations(now),
        plans=[Choice("cupboard-brown", "Cupboard brown")],
        stored={"stair-brown": (fakes.PLAN, 1)},
    )
    running = Served(house)
    running.start()
    yield running
    running.stop()


@pytest.fixture
def context(chromium: Browser, request: pytest.FixtureRequest) -> Iterator[BrowserContext]:
    """A fresh visitor; parametrise with the context's options."""
    options = {"viewport": {"width": 390, "height": 844}, **getattr(request, "param", {})}
    made = chromium.new_context(**options)
    made.set_default_timeout(10_000)
    yield made
    made.close()


@pytest.fixture
def watched(context: BrowserContext, served: Served) -> Iterator[Watched]:
    """A page that may complain of nothing and ask nobody else."""
    seen = Watched(context.new_page(), served.url)
    yield seen
    assert seen.strangers == []
