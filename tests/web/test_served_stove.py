"""At the stove on the real desk: the time, the temperature, what is wanted, and one button."""

import math
from datetime import datetime, timedelta

import pytest

from tests.rig import PROBE, START, Rig, with_batch
from tests.web.markup import read
from tests.web.served_pages import begun, page, send
from tests.web.visitor import Visitor

PLAN = {
    "name": "Small pale",
    "stages": [
        {
            "key": "mash",
            "kind": "mash",
            "target_c": 67,
            "lasts_s": 3600,
            "ends": "brewer",
            "prompts": [
                {"say": "Stir it.", "at_s": 900},
                {"say": "Heat the sparge water.", "before_end_s": 1200},
            ],
        },
        {"key": "boil", "kind": "boil", "lasts_s": 3600, "ends": "brewer"},
        {"key": "primary", "kind": "primary", "target_c": 19, "lasts_s": 604800, "ends": "brewer"},
    ],
}


@pytest.fixture
def path(rig: Rig) -> str:
    """The page of a batch that was mashed in at 67 C."""
    rig.source.values[PROBE] = 67.0
    return f"/stove/{with_batch(rig, PLAN)}"


def test_the_time_left_runs_down_and_then_counts_what_is_over(rig: Rig, visitor: Visitor, path: str) -> None:
    rig.rounds(3)
    assert page(visitor, path).one(css="timer").text == "59:30 left, until 09:00"

    rig.until(3600)

    timer = page(visitor, path).one(css="timer")
    assert timer.text == "00:30 over its time"
    assert "timer-over" in timer.classes


def test_the_temperature_is_told_against_the_band(rig: Rig, visitor: Visitor, path: str) -> None:
    rig.rounds(3)
    assert "In the band, at the target: 65.5 to 68.5 C" in page(visitor, path).one(data_part="temp").text

    rig.source.values[PROBE] = 64.0
    rig.rounds(6)

    assert "1.5 C below the band: 65.5 to 68.5 C" in page(visitor, path).one(data_part="temp").text


def test_a_silent_probe_shows_a_dash_and_no_figure(rig: Rig, visitor: Visitor, path: str) -> None:
    rig.rounds(3)
    rig.source.values[PROBE] = None
    rig.until(400)

    temp = page(visitor, path).one(data_part="temp")

    assert temp.one(css="stove-figure").text == "–"
    assert "No reading since 08:00" in temp.text


def test_a_prompt_is_ahead_until_it_is_due(rig: Rig, visitor: Visitor, path: str) -> None:
    rig.rounds(1)
    seen = page(visitor, path)
    assert [li.text for li in seen.one(css="coming").all("li")] == [
        "08:15 Stir it. in 14 min",
        "08:40 Heat the sparge water. in 39 min",
    ]
    assert seen.all(css="wanted") == []

    rig.until(910)

    seen = page(visitor, path)
    assert "Stir it. since 08:15" in seen.one(css="wanted").text
    assert [li.text[:5] for li in seen.one(css="coming").all("li")] == ["08:40"]


def test_one_button_begins_the_next_stage_and_one_takes_it_back(
    rig: Rig, visitor: Visitor, path: str
) -> None:
    rig.rounds(1)
    assert page(visitor, path).one("button", id="begin").text == "Begin boil"
    assert page(visitor, path).all("button", id="undo") == []

    assert send(visitor, path, f"{path}/advance") == path
    rig.rounds(1)
    assert page(visitor, path).one("h1").text == "Boil"
    assert send(visitor, path, f"{path}/undo") == path

    assert page(visitor, path).one("h1").text == "Mash"


def test_the_button_of_a_page_left_open_does_not_begin_a_stage_twice(
    rig: Rig, visitor: Visitor, path: str
) -> None:
    rig.rounds(1)
    form = page(visitor, path).one("form", action=f"{path}/advance")
    typed = {e.attributes["name"]: e.attributes["value"] for e in form.all("input")}

    answers = [visitor.post(f"{path}/advance", data=typed).status_code for _ in range(2)]

    assert answers == [303, 303]
    steps = rig.get(path.replace("/stove/", "/batches/") + "/stages")["items"]
    assert [step["key"] for step in steps] == ["boil", "mash"]


def test_a_batch_beyond_the_kettle_says_so_and_leads_back(rig: Rig, visitor: Visitor, path: str) -> None:
    rig.rounds(1)
    batch = path.removeprefix("/stove/")
    assert f'href="{path}"' in visitor.get(f"/batches/{batch}").text
    assert page(visitor, "/").one("a", href=path).text == "on the stove"
    for _ in range(2):
        send(visitor, path, f"{path}/advance")
        rig.clock.forward(timedelta(minutes=1).total_seconds())

    seen = page(visitor, path)

    assert seen.one("h1").text == "Stair brown is not on the stove."
    assert seen.all("button", id="begin") == []
    assert f'href="{path}"' not in visitor.get(f"/batches/{batch}").text
    assert page(visitor, "/").all("a", href=path) == []


def test_a_batch_that_is_not_there_is_said(visitor: Visitor) -> None:
    assert visitor.get("/stove/nothing").status_code == 404


def test_on_a_shared_screen_a_tap_is_asked_about_and_a_held_button_acts(
    rig: Rig, visitor: Visitor, path: str
) -> None:
    rig.rounds(1)
    shared = f"{path}?shared=yes"
    form = page(visitor, shared).one("form", action=f"{path}/advance")
    assert form.one("button", id="begin").text == "Hold: Begin boil"

    tapped = visitor.post(f"{path}/advance", data=begun(form))
    asked = read(tapped.text)

    assert tapped.status_code == 200
    assert asked.one(role="alert").text.startswith("Begin boil?")
    assert page(visitor, path).one("h1").text == "Mash"
    yes = begun(asked.one("form", action=f"{path}/advance"))
    led = visitor.post(f"{path}/advance", data=yes).headers["location"]
    assert led == shared
    assert page(visitor, path).one("h1").text == "Boil"

    held = visitor.post(
        f"{path}/undo",
        data={**begun(page(visitor, shared).one("form", action=f"{path}/undo")), "held": "yes"},
    )
    assert held.headers["location"] == shared
    assert page(visitor, path).one("h1").text == "Mash"


def test_a_screen_of_ones_own_asks_nothing(visitor: Visitor, path: str) -> None:
    seen = page(visitor, path)

    assert seen.one("button", id="begin").text == "Begin boil"
    assert seen.all("input", name="held") == []


CHILLING = {
    "name": "Small pale",
    "stages": [
        {"key": "chill", "kind": "chill", "target_c": 20, "lasts_s": 3600, "ends": "brewer"},
        {"key": "primary", "kind": "primary", "target_c": 19, "lasts_s": 604800, "ends": "brewer"},
    ],
}


def test_while_chilling_the_time_to_the_target_is_read_off_the_worts_own_curve(
    rig: Rig, visitor: Visitor
) -> None:
    rig.source.values[PROBE] = 90.0
    path = f"/stove/{with_batch(rig, CHILLING, volume_l=5)}"
    rig.rounds(1)
    assert page(visitor, path).one(data_part="chill").all("li") == []
    for n in range(120):
        rig.source.values[PROBE] = 12 + 78 * math.exp(-n * rig.sweep_s / 900)
        rig.rounds(1)

    told = page(visitor, path).one(data_part="chill")

    # Newton's law: 78 x exp(-t/900 s) = 8 after 2050 s, of which 1200 s have passed
    (cold, *_) = told.all("li")
    at = cold.one("time").attributes["datetime"]
    expected = START + timedelta(seconds=10 + 900 * math.log(78 / 8))
    assert abs(datetime.fromisoformat(at) - expected) < timedelta(minutes=3), (at, expected)
    assert "about 20 C" in cold.text
    assert "modelled" in cold.text


def test_a_mash_has_no_time_to_be_cold(rig: Rig, visitor: Visitor, path: str) -> None:
    rig.rounds(3)

    assert page(visitor, path).one(data_part="chill").text == ""


def test_a_stage_is_given_five_minutes_more(rig: Rig, visitor: Visitor, path: str) -> None:
    rig.rounds(3)

    send(visitor, path, f"{path}/prolong")

    assert page(visitor, path).one(css="timer").text == "1:04:30 left, until 09:05"
    assert rig.get(path.replace("/stove/", "/batches/") + "/stages")["items"][0]["lasts_s"] == 3900


def test_a_stage_over_its_time_gets_its_five_minutes_from_now_on(
    rig: Rig, visitor: Visitor, path: str
) -> None:
    rig.until(4200)

    send(visitor, path, f"{path}/prolong")

    assert page(visitor, path).one(css="timer").text.startswith("05:00 left")


def test_on_a_shared_screen_more_time_is_asked_about_first(rig: Rig, visitor: Visitor, path: str) -> None:
    rig.rounds(3)

    form = page(visitor, f"{path}?shared=yes").one("form", action=f"{path}/prolong")
    asked = visitor.post(f"{path}/prolong", data=begun(form))

    assert "5 minutes more?" in asked.text
    assert rig.get(path.replace("/stove/", "/batches/") + "/stages")["items"][0]["lasts_s"] == 3600
