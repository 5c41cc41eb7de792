"""The page of alarms: what stands, shelving, what there was before."""

from dataclasses import replace

import pytest

from tests.web import fakes
from tests.web.conftest import Visit
from tests.web.fake_house import TOKEN, FakeHouse
from tests.web.markup import read
from web.views import AlarmState


def test_what_stands_comes_before_what_is_over(visit: Visit) -> None:
    house = FakeHouse([fakes.smaller()], [fakes.warm()], past=[fakes.warm(state=AlarmState.NORMAL)])

    page = read(visit(house).get("/alarms").text)

    assert page.one("h1").text == "One alarm wants you."
    order = [e.tag for e in page.each() if "notice" in e.classes or e.tag == "table"]
    assert order == ["article", "table"]


@pytest.mark.parametrize(
    "state, sentence",
    [
        (AlarmState.ACKNOWLEDGED, "Nothing waits for you; one alarm stands."),
        (AlarmState.SHELVED, "Nothing waits for you; one alarm stands."),
        (AlarmState.NORMAL, "No alarm stands."),
    ],
)
def test_the_first_sentence_tells_waiting_from_standing(
    visit: Visit, state: AlarmState, sentence: str
) -> None:
    page = read(visit(FakeHouse([], [fakes.warm(state=state)])).get("/alarms").text)

    assert page.one("h1").text == sentence


def test_an_alarm_is_shelved_for_a_time_with_a_reason(visit: Visit) -> None:
    house = FakeHouse([], [fakes.warm()])
    form = {"token": TOKEN, "for_s": "7200", "reason": "I am cooling it"}

    answer = visit(house).post("/alarms/a-1042/shelve", data=form)

    assert (answer.status_code, answer.headers["location"]) == (303, "/alarms")
    assert house.alarms[0].state is AlarmState.SHELVED


def test_shelving_without_a_reason_keeps_what_was_chosen_and_says_so_beside_the_field(visit: Visit) -> None:
    house = FakeHouse([], [fakes.warm(), replace(fakes.warm(), id="other")])

    answer = visit(house).post(
        "/alarms/a-1042/shelve", data={"token": TOKEN, "for_s": "28800", "reason": " "}
    )

    page = read(answer.text)
    assert answer.status_code == 422
    field = page.one("input", id="s-a-1042-reason")
    assert field.attributes["aria-invalid"] == "true"
    words = page.one("p", id=field.attributes["aria-describedby"]).text
    assert words == "Is empty. Say in a few words why it may wait."
    assert "selected" in page.one("select", id="s-a-1042-for_s").one("option", value="28800").attributes
    assert "aria-invalid" not in page.one("input", id="s-other-reason").attributes
    assert house.alarms[0].state is AlarmState.UNACKNOWLEDGED


def test_a_shelved_alarm_can_be_taken_off_the_shelf(visit: Visit) -> None:
    house = FakeHouse([], [fakes.warm(state=AlarmState.SHELVED)])

    visit(house).post("/alarms/a-1042/unshelve", data={"token": TOKEN})

    assert house.alarms[0].state is AlarmState.UNACKNOWLEDGED


def test_history_goes_on_page_by_page(visit: Visit) -> None:
    over = fakes.warm(state=AlarmState.NORMAL)
    visitor = visit(FakeHouse(past=[replace(over, reason=f"the {n}th") for n in range(3)]))

    first = read(visitor.get("/alarms").text)
    second = read(visitor.get(first.one("a", css="button").attributes["href"]).text)

    assert "the 1th" in first.text
    assert "the 2th" not in first.text
    assert "the 2th" in second.text
