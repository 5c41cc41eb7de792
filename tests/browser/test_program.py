"""The installed program in a real browser: from an unnamed probe to a watched batch, a stray, a restart."""

from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, expect

from tests.browser.conftest import PICTURES, Watched
from tests.browser.test_pages import AXE
from tests.emulated.fixtures import EmulatedTreeMaker, emulated_tree
from tests.running import Running

__all__ = ["emulated_tree"]
pytestmark = pytest.mark.browser

PROBE = "28-00000a1b2c3d"
OF_THE_DEMONSTRATION = (
    "/alarms",
    "/batches",
    "/probes",
    "/numbers",
    "/settings",
    "/settings/units",
    "/quiet",
    "/first-account",
    "/accounts",
    "/changes",
    "/first-steps",
)
PRIMARY: dict[str, Any] = {
    "key": "primary",
    "kind": "primary",
    "target_c": 20,
    "low_c": 18.5,
    "high_c": 21.5,
    "lasts_s": 777600,
    "ends": "steady-gravity",
    "alarm_after_s": 2,
    "clear_after_s": 2,
}


def test_a_probe_becomes_a_watched_batch_by_clicks_and_a_stray_shows_by_itself(
    emulated_tree: EmulatedTreeMaker, tmp_path: Path, context: BrowserContext
) -> None:
    tree = emulated_tree({PROBE: 20.0}, speed=20)
    with Running(tmp_path / "data", tree.root) as running:
        running.post("/plans", {"name": "Stair brown", "stages": [PRIMARY]})
        watched = Watched(context.new_page(), running.url)
        page = watched.open("/")
        page.get_by_role("link", name="Show me the first steps").click()
        page.get_by_role("link", name="Add a vessel").click()
        page.get_by_label("Name").fill("Bucket")
        page.get_by_label("Volume of beer in it").fill("5")
        page.get_by_role("button", name="Add this vessel").click()
        page.get_by_role("link", name="To the probes").click()
        expect(page.get_by_role("heading", name=PROBE)).to_be_visible(timeout=12_000)
        page.locator(".line").get_by_label("Name").first.fill("Bucket, well")
        page.get_by_label("Vessel").select_option(label="Bucket")
        page.get_by_role("button", name="Keep this").click()
        watched.open("/batches/new")
        page.get_by_label("Name").fill("Stair brown")
        page.get_by_label("Vessel").select_option(label="Bucket")
        page.get_by_label("Plan").select_option(label="Stair brown")
        page.get_by_role("button", name="Start this batch").click()
        expect(page.locator("h1")).to_contain_text("Stair brown: primary")
        page.get_by_role("link", name="Vessels").click()
        expect(page.locator("[data-reading]")).to_have_text("20.0")
        expect(page.locator("#link")).to_have_text("Live")
        page.evaluate("window.loadedOnce = true")

        tree.set(PROBE, 22.6)
        expect(page.locator("[data-reading]")).to_have_text("22.6", timeout=6_000)
        expect(page.locator("h1")).to_have_text("One thing wants you: Bucket.", timeout=15_000)
        expect(page.locator(".notice-state strong")).to_have_text("Unacknowledged")
        assert page.evaluate("window.loadedOnce") is True
        assert watched.complaints == []

        running.kill()
        expect(page.locator("#link")).to_contain_text("Not connected since")
        with page.expect_response(lambda r: r.url == f"{running.url}/", timeout=40_000):
            running.start()
        expect(page.locator("#link")).to_have_text("Live", timeout=40_000)
        expect(page.locator(".notice-state strong")).to_have_text("Unacknowledged")
        page.get_by_role("button", name="Acknowledge").click()
        expect(page.locator(".notice-state strong")).to_contain_text("Acknowledged")
        assert watched.strangers == []


def test_the_demonstration_fills_every_page_and_breaks_no_rule(
    tmp_path: Path, context: BrowserContext
) -> None:
    with Running(tmp_path / "demo", command="demo") as running:
        watched = Watched(context.new_page(), running.url)
        page = watched.open("/")
        expect(page.locator("#link")).to_have_text("Live")
        page.locator(".uplot").wait_for()
        assert page.locator(".fairway").count() > 0
        batch = page.locator(".vessel-batch a").first.get_attribute("href") or ""

        for path in ("/", batch, *OF_THE_DEMONSTRATION):
            watched.open(path)
            assert page.url == running.url + path
            if page.locator("[data-chart]").count():
                page.locator(".uplot").first.wait_for()
            name = "batches-one" if path == batch else path.strip("/").replace("/", "-") or "vessels"
            PICTURES.mkdir(parents=True, exist_ok=True)
            page.screenshot(path=PICTURES / f"demo-{name}.png", full_page=True)

            found = Axe().run(page, options=AXE)

            assert found.violations_count == 0, found.generate_report()
        assert watched.complaints == []
        assert watched.strangers == []
