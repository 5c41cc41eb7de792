"""A plan rehearsed from its form: the picture comes, what was typed stays, mistakes stand beside fields."""

import pytest

from tests.web import fakes
from tests.web.conftest import Visit
from tests.web.fake_house import FakeHouse
from tests.web.markup import read
from web.words import Taste


def filled(**more: str) -> dict[str, str]:
    return {
        "name": "Try",
        "stages/0/key": "primary",
        "stages/0/kind": "primary",
        "stages/0/target_c": "19",
        "stages/0/lasts_h": "96",
        "stages/0/ends": "time",
        **more,
    }


def test_a_plan_is_rehearsed_by_its_button_and_everything_typed_stays(visit: Visit) -> None:
    house = FakeHouse([fakes.larger()])

    answer = visit(house).post("/rehearsal", data=filled(**{"in/vessel_id": "bucket", "in/og": "1.05"}))

    seen = read(answer.text)
    assert answer.status_code == 200
    assert "Where it strays" in seen.text
    assert "What it does not hold" in seen.text
    assert seen.one("input", name="in/og").attributes["value"] == "1.05"
    assert seen.one("input", name="stages/0/target_c").attributes["value"] == "19"
    assert house.asked[0][1]["plan"]["stages"][0]["lasts_s"] == 96 * 3600
    assert house.stored == {}


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ({"in/vessel_id": ""}, "in/volume_l"),
        ({"in/volume_l": "much"}, "in/volume_l"),
        ({"in/volume_l": "5", "stages/0/target_c": "warm"}, "stages/0/target_c"),
        ({"in/volume_l": "5", "in/wanted_at": "soon"}, "in/wanted_at"),
    ],
)
def test_what_is_wrong_in_a_rehearsal_is_said_beside_its_field(
    visit: Visit, typed: dict[str, str], name: str
) -> None:
    answer = visit(FakeHouse()).post("/rehearsal", data=filled(**typed))

    field = read(answer.text).one("input", name=name)
    assert answer.status_code == 422
    assert field.attributes["aria-invalid"] == "true"


def test_while_somebody_types_a_half_typed_plan_is_no_failure(visit: Visit) -> None:
    visitor = visit(FakeHouse())
    visitor.headers = {"X-While-Typing": "yes"}

    answer = visitor.post("/rehearsal", data=filled(**{"in/volume_l": "much"}))

    assert answer.status_code == 200
    assert read(answer.text).one("input", name="in/volume_l").attributes["aria-invalid"] == "true"


def test_the_days_to_brew_on_are_asked_backwards_in_the_brewers_zone(visit: Visit) -> None:
    house = FakeHouse(likes=Taste(timezone="Europe/Berlin"))
    typed = {"in/volume_l": "5", "in/wanted_at": "2026-12-20T12:00", "in/away_from": "2026-12-05T08:00"}
    typed["in/away_to"] = "2026-12-07T20:00"

    answer = visit(house).post("/rehearsal", data=filled(**typed))

    assert "When to brew" in read(answer.text).text
    asked = house.asked[0][1]
    assert asked["wanted_at"] == "2026-12-20T11:00:00Z"
    assert asked["away"] == [{"from": "2026-12-05T07:00:00Z", "to": "2026-12-07T19:00:00Z"}]


def test_a_rehearsal_of_a_stored_plan_stays_with_that_plan(visit: Visit) -> None:
    house = FakeHouse(stored={"stair-brown": (fakes.PLAN, 1)})

    answer = visit(house).post(
        "/rehearsal", data=filled(**{"plan_id": "stair-brown", "version": "1", "in/volume_l": "5"})
    )

    form = read(answer.text).all("form", action="/plans/stair-brown")
    assert len(form) == 1
    assert form[0].one("input", name="version").attributes["value"] == "1"
