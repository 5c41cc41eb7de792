"""The first page in each state a vessel and an alarm can be in."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from tests.web import fakes
from tests.web.conftest import Visit
from tests.web.fake_house import TOKEN, FakeHouse
from tests.web.fakes import NOON
from tests.web.markup import Element, read
from web.views import AlarmState, BandView, Freshness, VesselView
from web.words import Taste

Home = Callable[[FakeHouse], Element]


def test_a_vessel_that_is_well_is_answered_in_one_calm_sentence(home: Home) -> None:
    page = home(FakeHouse([fakes.larger()]))

    answer = page.one("h1")
    assert answer.text == "Bucket by the stairs lies in its band."
    assert "answer-wants" not in answer.classes
    assert page.all(css="notice") == []


def test_a_strip_shows_reading_band_stage_time_left_and_age(home: Home) -> None:
    strip = home(FakeHouse([fakes.larger()])).one("section", css="vessel")

    assert strip.one(data_reading="").text == "20.1"
    assert "In the band, 0.1 C over the target" in strip.text
    assert "Measured 4 s ago" in strip.text
    assert "18.5 to 21.5 C, target 20.0 C" in strip.text
    assert "Primary, 6 d 2 h left (planned to Tue 14:05)" in strip.text
    assert "about 62 % (estimated, 55 to 70 %)" in strip.text
    assert "Leave it until Thu 02:05" in strip.text


def test_an_unacknowledged_alarm_comes_before_the_vessels_with_word_shape_and_what_to_do(home: Home) -> None:
    page = home(FakeHouse([fakes.larger(), fakes.smaller()], [fakes.warm()]))

    notice = page.one("article", css="notice")
    order = [e for e in page.each() if e is notice or "vessel" in e.classes]
    assert order[0] is notice
    assert "Unacknowledged" in notice.text
    assert notice.all("path", css="mark-fill") != []
    assert "22.1 C since 10:05, 1.1 C over the band" in notice.text
    assert "What to do Stand it in a basin of cool water" in notice.text
    assert "Answer by 13:05" in notice.text
    assert page.one("h1").text == "One thing wants you: Demijohn."


@pytest.mark.parametrize(
    "state, words, form",
    [
        (AlarmState.UNACKNOWLEDGED, "Unacknowledged", True),
        (AlarmState.ACKNOWLEDGED, "Acknowledged by Attic, 11:05", False),
        (AlarmState.RETURNED, "Over, not yet acknowledged", True),
        (AlarmState.SHELVED, "Shelved until 15:05", False),
        (AlarmState.SUPPRESSED, "Held back by a change of stage", False),
        (AlarmState.OUT_OF_SERVICE, "Out of service", False),
    ],
)
def test_each_state_has_its_own_words_and_only_those_that_wait_have_a_form(
    home: Home, state: AlarmState, words: str, form: bool
) -> None:
    notice = home(FakeHouse([fakes.smaller()], [fakes.warm(state=state)])).one("article", css="notice")

    assert notice.one(css="notice-state").one("strong").text == words
    assert (notice.all("form") != []) is form


def test_no_two_states_share_a_shape(home: Home) -> None:
    shapes = set()
    for state in AlarmState:
        if state is not AlarmState.NORMAL:
            page = home(FakeHouse([fakes.smaller()], [fakes.warm(state=state)]))
            drawn = page.one(css="notice-state").one("svg").each()
            shapes.add(tuple((e.tag, tuple(e.attributes.items())) for e in drawn))

    assert len(shapes) == len(AlarmState) - 1


def test_alarms_that_wait_come_first_and_among_them_the_high_ones(home: Home) -> None:
    seen = replace(fakes.warm(state=AlarmState.ACKNOWLEDGED), id="seen")
    low = replace(fakes.warm(), id="low", priority="low")
    shelved = replace(fakes.warm(state=AlarmState.SHELVED), id="shelved")

    page = home(FakeHouse([fakes.smaller()], [shelved, seen, low, fakes.silence()]))

    titles = [e.attributes["id"] for e in page.all("h3", css="notice-title")]
    assert titles == ["n-a-1043", "n-low", "n-seen", "n-shelved"]


def test_silence_is_a_dash_a_hatched_stretch_and_words_and_never_a_current_figure(home: Home) -> None:
    page = home(FakeHouse([fakes.gone_silent(fakes.larger())], [fakes.silence()]))

    strip = page.one("section", css="vessel")
    assert "fresh-silent" in strip.classes
    assert strip.all(data_reading="") == []
    assert strip.all(data_mark="") == []
    assert "No reading since 10:28" in strip.text
    assert "It was 20.1 C, 1 h 37 min ago" in strip.text
    assert strip.all("rect", css="gap")[-1].attributes["y"] == "0.0%"


@pytest.mark.parametrize("freshness", [Freshness.SILENT, Freshness.NEVER])
def test_no_data_never_reads_as_all_well(home: Home, freshness: Freshness) -> None:
    page = home(FakeHouse([replace(fakes.larger(), freshness=freshness)]))

    assert "lies in its band" not in page.text
    assert "place-unknown" in page.one("section", css="vessel").classes


def test_a_late_sample_is_called_late(home: Home) -> None:
    vessel = replace(fakes.larger(), freshness=Freshness.LATE, at=NOON - timedelta(seconds=25))

    assert "Late: newest sample 25 s ago" in home(FakeHouse([vessel])).text


def test_a_gap_cuts_the_wake_and_is_hatched(home: Home) -> None:
    strip = home(FakeHouse([fakes.larger()])).one("section", css="vessel")

    assert len(strip.all("polyline", css="wake")) == 2
    assert len(strip.all("rect", css="gap")) == 1


def test_a_gap_in_the_day_is_said_and_stands_in_the_table(home: Home) -> None:
    page = home(FakeHouse([fakes.larger()]))

    assert "Nothing was measured for 1 h of it." in page.one("figcaption").text
    assert len(page.all("td", css="gap-cell")) == 1
    assert len(page.one("tbody").all("tr")) == 24


def test_without_a_vessel_the_page_points_to_the_first_steps(home: Home) -> None:
    page = home(FakeHouse())

    assert page.one("h1").text == "No vessel yet."
    assert page.one("section", css="empty").one("a").attributes["href"] == "/first-steps"


def test_a_vessel_without_band_or_sample_is_shown_as_not_known(home: Home) -> None:
    page = home(FakeHouse([VesselView("pot", "Pot", "kettle", Freshness.NEVER)]))

    assert "No reading yet" in page.text
    assert page.all(css="course") == []
    assert page.one("h1").text == "Nothing is being compared with a plan."


def test_markup_in_any_name_stays_text(home: Home) -> None:
    evil = '"><script>alert(1)</script><img src=x onerror=alert(1)>'
    vessel = replace(
        fakes.larger(),
        id=evil,
        name=evil,
        kind=evil,
        batch_id=evil,
        batch_name=evil,
        band=BandView(20, 19, 21),
    )
    alarm = replace(
        fakes.warm(), id=evil, title=evil, vessel_id=evil, vessel_name=evil, reason=evil, consequence=evil,
        advice=evil, priority=evil,
    )  # fmt: skip

    page = home(FakeHouse([vessel], [alarm], visitor=evil))

    scripts = {e.attributes.get("src", "inline") for e in page.all("script")}
    assert all(src.startswith("/static/") for src in scripts)
    assert page.all("img") == []
    assert evil in page.one("h2", id=f"v-{evil}").text


def test_nothing_is_styled_or_scripted_inline_and_nothing_comes_from_elsewhere(visit: Visit) -> None:
    answer = visit(FakeHouse([fakes.larger(), fakes.smaller()], [fakes.warm(), fakes.silence()])).get("/")

    page = read(answer.text)
    assert [e for e in page.each() if "style" in e.attributes] == []
    assert page.all("style") == []
    assert [e for e in page.each() if any(name.startswith("on") for name in e.attributes)] == []
    assert "://" not in re.sub(r'xmlns="[^"]*"', "", answer.text)
    policy = answer.headers["content-security-policy"]
    assert "script-src 'self'" in policy
    assert "unsafe" not in policy


def test_values_are_written_as_the_brewer_wants_them(home: Home) -> None:
    taste = Taste(units="F", clock=12, timezone="America/New_York")

    page = home(FakeHouse([fakes.larger()], likes=taste))

    assert page.one(data_reading="").text == "68.2"
    assert "65.3 to 70.7 F, target 68.0 F" in page.text
    assert "As of 7:05 am" in page.text


def test_acknowledging_needs_no_script_and_comes_back_to_the_page(visit: Visit) -> None:
    house = FakeHouse([fakes.smaller()], [fakes.warm()])
    client = visit(house)
    form = read(client.get("/").text).one("article", css="notice").one("form")
    fields = {e.attributes["name"]: e.attributes.get("value", "") for e in form.all("input")}

    answer = client.post(form.attributes["action"], data=fields)

    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert house.alarms[0].state is AlarmState.ACKNOWLEDGED
    assert house.alarms[0].acknowledged_by == "Attic"


def test_acknowledging_twice_is_refused_in_words_and_changes_nothing(visit: Visit) -> None:
    house = FakeHouse([fakes.smaller()], [fakes.warm(state=AlarmState.ACKNOWLEDGED)])
    before = list(house.alarms)

    answer = visit(house).post("/alarms/a-1042/acknowledge", data={"token": TOKEN})

    assert answer.status_code == 409
    assert "was acknowledged already" in read(answer.text).text
    assert house.alarms == before


def test_acknowledging_what_is_not_there_is_not_found(visit: Visit) -> None:
    assert visit(FakeHouse()).post("/alarms/nothing/acknowledge", data={"token": TOKEN}).status_code == 404


@pytest.mark.parametrize("token", [None, "", "another"])
def test_a_form_from_elsewhere_is_refused(visit: Visit, token: str | None) -> None:
    house = FakeHouse([fakes.smaller()], [fakes.warm()])

    answer = visit(house).post("/alarms/a-1042/acknowledge", data={} if token is None else {"token": token})

    assert answer.status_code == 403
    assert house.alarms == [fakes.warm()]


def test_a_form_of_a_page_left_open_over_a_restart_can_be_sent_again(visit: Visit) -> None:
    house = FakeHouse([fakes.smaller()], [fakes.warm()])
    visitor = visit(house)
    stale = {"token": "of-an-earlier-run", "note": '"><b>cooling</b>', "back": "/alarms"}

    asked = read(visitor.post("/alarms/a-1042/acknowledge", data=stale).text).one("form")
    fields = {e.attributes["name"]: e.attributes["value"] for e in asked.all("input")}
    answer = visitor.post(asked.attributes["action"], data=fields)

    assert fields["note"] == stale["note"]
    assert answer.headers["location"] == "/alarms"
    assert house.alarms[0].state is AlarmState.ACKNOWLEDGED


@pytest.mark.parametrize(
    "back", ["https://elsewhere.example", "//elsewhere.example", "/\\elsewhere.example", "x", "/a\r\nb: c"]
)
def test_a_form_never_leads_to_another_site(visit: Visit, back: str) -> None:
    house = FakeHouse([fakes.smaller()], [fakes.warm()])

    answer = visit(house).post("/alarms/a-1042/acknowledge", data={"token": TOKEN, "back": back})

    assert answer.headers["location"] == "/"


def test_a_vessel_without_a_second_probe_is_told_what_one_would_add(
    home: Callable[[FakeHouse], Element],
) -> None:
    lone = replace(fakes.larger(), surroundings_c=None)

    told = home(FakeHouse([lone])).one(css="vessel").text

    assert "not measured A second probe beside the vessel" in told
    assert "A second probe" not in home(FakeHouse([fakes.larger()])).one(css="vessel").text
