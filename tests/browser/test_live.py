"""The first page lives: figures move, alarms appear, a lost connection shows, all without a reload."""

import time
from datetime import timedelta

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.conftest import Served, Watched
from tests.web import fakes

pytestmark = pytest.mark.browser


def live(page: Page) -> Page:
    """The page once it is connected; a mark on it would not survive a reload."""
    expect(page.locator("#link")).to_have_text("Live")
    page.evaluate("window.loadedOnce = true")
    return page


def sample(served: Served, temp_c: float) -> dict[str, object]:
    at = served.house.now() + timedelta(seconds=1)
    return {
        "probe_id": "28-00000a1b2c3d",
        "vessel_id": "bucket",
        "role": "liquid",
        "temp_c": temp_c,
        "at": at.isoformat(),
    }


def test_a_sample_moves_figure_and_mark_within_a_second(watched: Watched, served: Served) -> None:
    page = live(watched.open("/"))
    strip = page.locator('[data-vessel="bucket"]')
    before = strip.locator("[data-mark] circle").get_attribute("cx")

    sent = time.monotonic()
    served.line.send("sample", sample(served, 19.25))
    expect(strip.locator("[data-reading]")).to_have_text("19.3", timeout=1_000)

    assert time.monotonic() - sent < 1.5
    assert strip.locator("[data-mark] circle").get_attribute("cx") != before
    assert page.evaluate("window.loadedOnce") is True


def test_a_sample_of_the_surroundings_or_an_older_one_moves_nothing(watched: Watched, served: Served) -> None:
    page = live(watched.open("/"))
    reading = page.locator('[data-vessel="bucket"] [data-reading]')
    before = reading.inner_text()

    served.line.send("sample", {**sample(served, 5.0), "role": "surroundings"})
    served.line.send("sample", {**sample(served, 6.0), "at": "2026-01-01T00:00:00Z"})
    served.line.send("sample", {**sample(served, 7.0), "vessel_id": "demijohn"})
    expect(page.locator('[data-vessel="demijohn"] [data-reading]')).to_have_text("7.0")

    assert reading.inner_text() == before


def test_an_alarm_appears_first_without_a_reload(watched: Watched, served: Served) -> None:
    served.house.alarms = []
    page = live(watched.open("/"))
    assert page.locator(".notice").count() == 0

    served.house.alarms = [fakes.warm(served.house.now())]
    served.line.send("alarm", {"id": "a-1042"})

    expect(page.locator(".notice-title")).to_have_text("Demijohn: above the band", timeout=1_500)
    expect(page.locator("h1")).to_have_text("One thing wants you: Demijohn.")
    assert page.title().startswith("(1)")
    assert page.evaluate("window.loadedOnce") is True


def test_silence_takes_the_figure_away(watched: Watched, served: Served) -> None:
    page = live(watched.open("/"))
    now = served.house.now()

    served.house.vessels[0] = fakes.gone_silent(served.house.vessels[0], now)
    served.line.send("alarm", {"id": "a-1043"})

    strip = page.locator('[data-vessel="bucket"]')
    expect(strip.locator("[data-reading]")).to_have_count(0)
    expect(strip).to_contain_text("No reading since")
    expect(strip.locator("[data-mark]")).to_have_count(0)


def test_a_lost_connection_is_said_and_the_page_comes_back_by_itself(
    watched: Watched, served: Served
) -> None:
    page = live(watched.open("/"))

    served.stop()
    expect(page.locator("#link")).to_contain_text("Not connected since")
    faded = page.locator('[data-vessel="bucket"] .figure').evaluate("e => getComputedStyle(e).fontWeight")
    served.house.alarms = [*served.house.alarms, fakes.silence(served.house.now())]
    served.start()

    expect(page.locator("#link")).to_have_text("Live", timeout=20_000)
    expect(page.locator("h1")).to_contain_text("Two things want you")
    assert faded == "300"
    assert page.evaluate("window.loadedOnce") is True


def test_what_was_typed_and_opened_survives_what_happens_meanwhile(watched: Watched, served: Served) -> None:
    page = live(watched.open("/alarms"))
    page.get_by_text("Shelve it for a while").click()
    page.get_by_label("For how long").select_option("28800")
    page.get_by_label("Why it may wait").fill("it stands in the bath")
    note = page.get_by_label("Note")
    note.fill("cooling it")

    served.house.alarms = [*served.house.alarms, fakes.silence(served.house.now())]
    served.line.send("alarm", {"id": "a-1043"})

    expect(page.locator(".notice")).to_have_count(2)
    mine = page.locator(".notice", has_text="Demijohn")
    assert mine.get_by_label("Note").input_value() == "cooling it"
    assert mine.get_by_label("Why it may wait").input_value() == "it stands in the bath"
    assert mine.get_by_label("For how long").input_value() == "28800"
    assert mine.get_by_label("Note").evaluate("e => e === document.activeElement")


def test_the_chart_is_moved_by_keyboard_and_asks_for_the_finer_envelope(watched: Watched) -> None:
    page = watched.open("/batches/brown-2026-11-22")
    chart = page.locator("[data-chart]")
    page.locator(".uplot").first.wait_for()
    readout = page.locator(".chart-readout")
    whole = readout.inner_text()

    chart.focus()
    with page.expect_response(lambda r: "/chart?" in r.url):
        page.keyboard.press("+")
        page.keyboard.press("+")
        page.keyboard.press("End")
    expect(readout).not_to_have_text(whole)
    closer = readout.inner_text()
    page.keyboard.press("ArrowLeft")
    expect(readout).not_to_have_text(closer)
    page.keyboard.press("0")

    expect(readout).to_have_text(whole)
    assert watched.complaints == []


@pytest.mark.parametrize("context", [{"has_touch": True, "is_mobile": True}], indirect=True)
def test_the_chart_is_pinched_and_dragged_by_fingers(watched: Watched, context: BrowserContext) -> None:
    page = watched.open("/batches/brown-2026-11-22")
    page.locator(".uplot").first.wait_for()
    readout = page.locator(".chart-readout")
    whole = readout.inner_text()
    page.locator(".chart-wide").evaluate("chart => chart.scrollIntoView({block: 'center'})")
    box = page.locator(".u-over").first.bounding_box()
    assert box is not None
    y, middle = box["y"] + box["height"] / 2, box["x"] + box["width"] / 2
    hand = context.new_cdp_session(page)

    def touch(kind: str, *xs: float) -> None:
        points = [{"x": x, "y": y, "id": n} for n, x in enumerate(xs)]
        hand.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("touchStart", middle - 20, middle + 20)
    for apart in range(30, 120, 10):
        touch("touchMove", middle - apart, middle + apart)
    touch("touchEnd")
    expect(readout).not_to_have_text(whole)
    closer = readout.inner_text()
    touch("touchStart", middle)
    for by in range(10, 100, 10):
        touch("touchMove", middle + by)
    touch("touchEnd")

    expect(readout).not_to_have_text(closer)
    assert watched.complaints == []
