"""The chart's other half, the rehearsal and the comparison, as a person meets them."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Served, Watched
from tests.web import fake_chart
from web.chart import Story

pytestmark = pytest.mark.browser
BATCH = "/batches/brown-2026-11-22"


def test_the_chart_has_two_sheets_on_one_time_with_what_is_ahead(watched: Watched) -> None:
    page = watched.open(BATCH)

    expect(page.locator(".uplot")).to_have_count(2)
    keys = page.locator(".chart-keys")
    for words in ("Expected, with its 90 %", "Gravity read", "Gravity estimated", "Noted, seen or put in"):
        expect(keys).to_contain_text(words)
    until = page.locator(".chart-readout").inner_text()
    assert "Shown:" in until
    page.get_by_role("button", name="Closer").click()
    expect(page.locator(".chart-readout")).not_to_have_text(until)
    expect(page.locator(".uplot")).to_have_count(2)
    assert watched.complaints == []


def test_what_is_ahead_comes_by_itself_once_it_is_known(watched: Watched, served: Served) -> None:
    whole = fake_chart.story(served.house.now())
    served.house.told = Story(estimates=whole.estimates, stages=whole.stages)
    page = watched.open(BATCH)
    expect(page.locator(".chart-keys")).not_to_contain_text("Expected")

    served.house.told = whole

    expect(page.locator(".chart-keys")).to_contain_text("Expected, with its 90 %", timeout=8_000)
    expect(page.locator("#chart-words")).to_contain_text("In the coming 2 d it is expected")
    assert watched.complaints == []


def test_the_pointer_reads_out_what_is_expected(watched: Watched) -> None:
    page = watched.open(BATCH)
    page.locator(".uplot").first.wait_for()
    page.locator(".chart-wide").evaluate("chart => chart.scrollIntoView({block: 'center'})")
    box = page.locator(".u-over").first.bounding_box()
    assert box is not None

    page.mouse.move(box["x"] + box["width"] * 0.95, box["y"] + box["height"] / 2)

    expect(page.locator(".chart-readout")).to_contain_text("expected 2")


@pytest.mark.parametrize("context", [{"java_script_enabled": False}], indirect=True)
def test_without_a_script_the_charts_equals_are_there_and_no_dead_buttons(watched: Watched) -> None:
    page = watched.open(BATCH)

    assert page.locator(".chart-tools").is_hidden()
    assert page.locator("[data-chart]").is_hidden()
    page.get_by_text("What is ahead as a table").click()
    page.get_by_text("The gravity as a table").click()
    assert page.get_by_role("region", name="Winter brown, the hours ahead").locator("tbody tr").count() == 9
    expect(page.locator("#chart-words")).to_contain_text("was estimated from its heat as")


def test_a_plan_is_rehearsed_when_typing_pauses_and_mistakes_stand_beside_their_field(
    watched: Watched,
) -> None:
    page = watched.open("/plans/stair-brown")
    target = page.get_by_label("Target C").first
    with page.expect_response("**/rehearsal"):
        target.fill("19")
    expect(page.locator(".rehearsed-plot")).to_be_visible()
    expect(page.locator(".rehearsal-answer")).to_contain_text("does not hold its band")

    with page.expect_response("**/rehearsal"):
        target.fill("warm")
    expect(target).to_have_attribute("aria-invalid", "true")
    expect(page.locator(".rehearsal-state")).to_contain_text("once what is marked is put right")
    expect(page.locator(".rehearsed-plot")).to_be_visible()
    assert target.input_value() == "warm"

    with page.expect_response("**/rehearsal"):
        target.fill("19")
    expect(target).not_to_have_attribute("aria-invalid", "true")
    assert watched.complaints == []


def test_typing_on_asks_once_and_a_row_left_empty_moves_no_mistake(watched: Watched) -> None:
    page = watched.open("/plans/new")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if "/rehearsal" in request.url else None)
    page.get_by_label("Name, in one word").nth(3).fill("late")
    lasts = page.get_by_label("Lasts hours").nth(3)

    with page.expect_response("**/rehearsal"):
        lasts.press_sequentially("soon", delay=60)

    expect(lasts).to_have_attribute("aria-invalid", "true")
    expect(page.locator(".field-wrong")).to_have_count(1)
    assert len(asked) == 1


@pytest.mark.parametrize("context", [{"java_script_enabled": False}], indirect=True)
def test_without_a_script_the_button_rehearses_and_the_plan_can_still_be_kept(watched: Watched) -> None:
    page = watched.open("/plans/new")
    page.get_by_label("Name", exact=True).first.fill("Try")
    page.get_by_text("Backwards: when to brew").click()
    page.get_by_label("Wanted ready").fill("2027-02-01T12:00")

    page.get_by_role("button", name="Rehearse").click()

    assert page.locator(".rehearsed-plot").is_visible()
    assert page.get_by_role("heading", name="When to brew").is_visible()
    page.get_by_role("button", name="Keep this plan").click()
    assert page.get_by_text("Try").is_visible()


def test_two_batches_are_chosen_by_keyboard_and_stand_side_by_side(watched: Watched) -> None:
    page = watched.open("/batches")
    page.get_by_role("link", name="Compare").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("checkbox")).to_have_count(2)
    for box in page.get_by_role("checkbox").all():
        box.focus()
        page.keyboard.press("Space")
    page.keyboard.press("Enter")

    expect(page.locator("h1")).to_have_text("Winter brown beside Autumn brown")
    expect(page.locator(".compared-line")).to_have_count(5)
    expect(page.get_by_role("region", name="What differs").locator("tbody tr")).to_have_count(3)
    assert watched.complaints == []


def test_an_estimate_renews_the_strip(watched: Watched, served: Served) -> None:
    page = watched.open("/")
    expect(page.locator("#link")).to_have_text("Live")
    bucket = page.locator('[data-vessel="bucket"]')
    expect(bucket).to_contain_text("about 62 %")
    expect(bucket).to_contain_text("Leave it until")
    before = served.house.vessels[0]
    assert before.progress is not None

    served.house.vessels[0] = fake_chart.further(before)
    served.line.send("estimate", {"batch_id": "brown-2026-11-22"})

    expect(bucket).to_contain_text("about 71 %", timeout=1_500)
