"""Every page in a real browser: readable by everybody, in any light, on any width, asking nobody else."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.browser.conftest import PICTURES, Watched

pytestmark = pytest.mark.browser

PAGES = {
    "vessels": "/",
    "alarms": "/alarms",
    "batches": "/batches",
    "batch": "/batches/brown-2026-11-22",
    "sugar": "/batches/brown-2026-11-22/priming?asked=yes&wanted_volumes=2.3&bottles%2F0%2Fsize_l=0.5"
    "&bottles%2F0%2Fcount=8&ten_teaspoons_g=45",
    "batch-new": "/batches/new",
    "batch-ended": "/batches/autumn-2026-10-13",
    "compare": "/compare?batch=brown-2026-11-22&batch=autumn-2026-10-13",
    "plans": "/plans",
    "plan": "/plans/stair-brown",
    "probes": "/probes",
    "calibration": "/probes/28-00000a1b2c3d/calibration",
    "stove": "/stove/small-2026-11-25",
    "vessel-new": "/vessels/new",
    "numbers": "/numbers",
    "number": "/numbers/priming?asked=yes&volume_l=5&warmest_c=20&wanted_volumes=2.3",
    "settings": "/settings",
    "units": "/settings/units",
    "put-right": "/batches/brown-2026-11-22/readings/2",
    "stove-shared": "/stove/small-2026-11-25?shared=yes",
    "first-steps": "/first-steps",
}
WIDTHS = [{"viewport": {"width": 390, "height": 844}}, {"viewport": {"width": 1280, "height": 800}}]
AXE = {
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]},
    "resultTypes": ["violations"],
}


@pytest.mark.parametrize("context", WIDTHS, ids=["phone", "desktop"], indirect=True)
@pytest.mark.parametrize("name", PAGES)
def test_a_page_breaks_no_rule_of_wcag_22_aa_and_complains_of_nothing(watched: Watched, name: str) -> None:
    page = watched.page
    width = (page.viewport_size or {})["width"]

    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        watched.open(PAGES[name])
        if page.locator("[data-chart]").count():
            page.locator(".uplot").first.wait_for()
        for summary in page.locator("details > summary").all():
            if summary.is_visible():
                summary.click()
        PICTURES.mkdir(parents=True, exist_ok=True)
        page.screenshot(path=PICTURES / f"{name}-{width}-{scheme}.png", full_page=True)

        found = Axe().run(page, options=AXE)

        assert found.violations_count == 0, found.generate_report()
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert watched.complaints == []


@pytest.mark.parametrize("context", [{"java_script_enabled": False}], indirect=True)
def test_without_a_script_the_figures_the_alarm_and_its_form_are_there(watched: Watched) -> None:
    page = watched.open("/")

    assert page.locator("[data-reading]").count() == 2
    assert page.locator(".notice").is_visible()
    page.get_by_role("button", name="Acknowledge").click()

    assert page.locator(".notice-state strong").inner_text().startswith("Acknowledged by Attic")


@pytest.mark.parametrize("context", [{"java_script_enabled": False}], indirect=True)
def test_without_a_script_the_stove_shows_its_time_and_its_button(watched: Watched) -> None:
    page = watched.open("/stove/small-2026-11-25")

    assert page.get_by_role("timer").inner_text().startswith(("24:", "23:"))
    assert page.get_by_role("button", name="Begin boil").is_visible()
    assert page.get_by_role("link", name="Look again").is_visible()


def test_the_time_on_the_stove_moves_by_itself(watched: Watched) -> None:
    page = watched.open("/stove/small-2026-11-25")
    timer = page.get_by_role("timer")
    before = timer.inner_text()

    page.wait_for_function("was => document.querySelector('[data-until]').textContent !== was", arg=before)

    assert timer.inner_text() < before
    assert watched.complaints == []


def test_only_the_fields_of_the_chosen_kind_of_reading_are_shown_and_sent(watched: Watched) -> None:
    page = watched.open("/batches/brown-2026-11-22")
    page.get_by_text("Write down a reading").click()
    page.get_by_label("Gravity SG").fill("1.030")

    page.get_by_label("Measured by").select_option("refractometer")
    assert page.get_by_label("Gravity SG").is_hidden()
    page.get_by_label("Reading Brix").fill("7.2")
    with page.expect_request(lambda request: request.method == "POST") as sent:
        page.get_by_role("button", name="Keep this reading").click()

    assert "brix=7.2" in str(sent.value.post_data)
    assert "sg=" not in str(sent.value.post_data)


def test_on_paper_there_are_no_buttons_and_no_colours(watched: Watched) -> None:
    page = watched.open("/")

    page.emulate_media(media="print")

    assert page.get_by_role("button", name="Acknowledge").count() == 0
    assert page.locator(".nav").is_hidden()
    paper = page.evaluate("getComputedStyle(document.documentElement).getPropertyValue('--paper').trim()")
    assert paper == "#ffffff"


def test_an_alarm_is_acknowledged_by_keyboard_alone(watched: Watched) -> None:
    page = watched.open("/")

    for _ in range(20):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.matches('.notice button')"):
            break
    page.keyboard.press("Enter")
    page.wait_for_load_state()

    assert page.locator(".notice-state strong").inner_text().startswith("Acknowledged by Attic")


def test_a_wrong_field_is_said_beside_it_and_can_be_mended(watched: Watched) -> None:
    page = watched.open("/batches/new")
    page.get_by_label("Name").fill("Small stout")
    page.get_by_label("Vessel").select_option("demijohn")
    page.get_by_label("Plan").select_option("cupboard-brown")
    og = page.get_by_label("Gravity before fermentation")
    og.fill("1048")

    page.get_by_role("button", name="Start this batch").click()

    assert og.get_attribute("aria-invalid") == "true"
    assert og.input_value() == "1048"
    assert page.get_by_label("Vessel").input_value() == "demijohn"
    og.fill("1.048")
    page.get_by_role("button", name="Start this batch").click()
    assert page.locator("h1").inner_text().startswith("Small stout")


def test_a_button_on_a_shared_screen_acts_when_it_is_held_and_asks_when_it_is_tapped(
    watched: Watched,
) -> None:
    page = watched.open("/stove/small-2026-11-25?shared=yes")
    page.get_by_role("button", name="Hold: Begin boil").click()
    expect(page.get_by_role("alert")).to_contain_text("Begin boil?")
    page.get_by_role("link", name="leave it as it is").click()

    with page.expect_request(lambda request: request.method == "POST") as sent:
        page.get_by_role("button", name="Hold: Begin boil").click(delay=1_300)

    assert "held=yes" in str(sent.value.post_data)
    expect(page.get_by_role("alert")).to_have_count(0)


@pytest.mark.parametrize("context", [{"reduced_motion": "reduce"}], indirect=True)
@pytest.mark.parametrize("name", PAGES)
def test_nothing_glides_where_less_motion_is_asked_for(watched: Watched, name: str) -> None:
    page = watched.open(PAGES[name])

    moving = page.evaluate(
        "() => [...document.querySelectorAll('*')].filter(e => ['transitionDuration', 'animationDuration']"
        ".some(p => getComputedStyle(e)[p].split(',').some(d => parseFloat(d) > 0.01))).map(e => e.outerHTML)"
    )

    assert moving == []


@pytest.mark.parametrize("name", PAGES)
def test_every_page_prints_black_on_white_without_what_is_only_pressed(watched: Watched, name: str) -> None:
    page = watched.open(PAGES[name])

    page.emulate_media(media="print", color_scheme="dark")

    expect(page.locator("body")).to_have_css("color", "rgb(0, 0, 0)")
    assert page.locator(".button:visible, .nav:visible, form.sheet:visible").count() == 0
    assert page.locator("h1").is_visible()
