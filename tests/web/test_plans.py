"""Plans by form: each mistake beside its field, nothing lost that is not shown, two people told."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.plans.reading import plan_from_json, plan_to_json
from tests.web.conftest import Visit
from tests.web.fake_house import TOKEN, FakeHouse
from tests.web.markup import Element, read
from web.planning import compacted, plan_of, values_of
from web.words import Taste

RAMP = {"from": 18.0, "to": 20.0, "over_s": 86400.0}
PRIMARY: dict[str, Any] = {
    "key": "primary",
    "kind": "primary",
    "target_c": RAMP,
    "low_c": -1.5,
    "high_c": 1.5,
    "band": "relative",
    "lasts_s": 777600,
    "ends": "steady-gravity",
    "alarm_after_s": 900,
    "prompts": [{"at_s": 432000, "say": "Dry hops"}],
}
COLD: dict[str, Any] = {"key": "cold", "kind": "crash", "target_c": 3, "lasts_s": 172800, "ends": "brewer"}


def stored() -> FakeHouse:
    return FakeHouse(stored={"p": ({"name": "Stair brown", "stages": [PRIMARY, COLD]}, 1)})


def filled(page: Element) -> dict[str, str]:
    """What a browser would send of the page's form."""
    form = page.one("form")
    typed = {e.attributes["name"]: e.attributes.get("value", "") for e in form.all("input")}
    for select in form.all("select"):
        options = select.all("option")
        chosen = [o for o in options if "selected" in o.attributes] or options[:1]
        typed[select.attributes["name"]] = chosen[0].attributes["value"]
    return typed


def test_a_new_plan_begins_as_one_that_can_be_kept(visit: Visit) -> None:
    house = FakeHouse()
    visitor = visit(house)
    typed = filled(read(visitor.get("/plans/new").text)) | {"name": "Cupboard brown"}

    answer = visitor.post("/plans", data=typed)

    assert answer.headers["location"] == "/plans"
    plan, _ = house.stored["plan-0"]
    assert [stage["key"] for stage in plan["stages"]] == ["primary", "cold"]
    assert "primary 9 d, then cold 2 d" in read(visitor.get("/plans").text).text


def test_opening_and_keeping_a_plan_changes_nothing_in_it(visit: Visit) -> None:
    house = stored()
    visitor = visit(house)

    answer = visitor.post("/plans/p", data=filled(read(visitor.get("/plans/p").text)))

    assert answer.status_code == 303
    kept = plan_to_json(plan_from_json(house.stored["p"][0]))
    assert kept == plan_to_json(plan_from_json({"name": "Stair brown", "stages": [PRIMARY, COLD]}))


@pytest.mark.parametrize(
    "field, typed, words",
    [
        ("stages/0/low_c", "warm", "not a number"),
        ("stages/0/key", "Not one word", "key"),
        ("stages/1/lasts_h", "-5", "lasts_s"),
        ("stages/1/target_c", "", "target"),
        ("stages/0/over_h", "soon", "not a number"),
    ],
)
def test_a_mistake_is_named_beside_its_field_and_nothing_is_lost(
    visit: Visit, field: str, typed: str, words: str
) -> None:
    house = stored()
    visitor = visit(house)
    sent = filled(read(visitor.get("/plans/p").text)) | {field: typed}

    answer = visitor.post("/plans/p", data=sent)

    page = read(answer.text)
    assert answer.status_code == 422
    assert words in page.one("p", id=f"f-{field}-wrong").text
    again = filled(page)
    assert {name: again[name] for name in sent if "stages/2" not in name and "stages/3" not in name} == {
        name: value for name, value in sent.items() if "stages/2" not in name and "stages/3" not in name
    }
    assert house.stored["p"][1] == 1


def test_two_people_changing_one_plan_are_told(visit: Visit) -> None:
    house = stored()
    visitor = visit(house)
    mine = filled(read(visitor.get("/plans/p").text))
    theirs = filled(read(visitor.get("/plans/p").text)) | {"name": "Their brown"}

    first = visitor.post("/plans/p", data=theirs)
    second = visitor.post("/plans/p", data=mine | {"name": "My brown"})

    page = read(second.text)
    assert (first.status_code, second.status_code) == (303, 409)
    assert "Somebody else changed this plan" in page.one(role="alert").text
    assert page.one("input", name="name").attributes["value"] == "My brown"
    assert house.stored["p"][0]["name"] == "Their brown"


def test_a_stage_of_another_kind_takes_the_usual_values_of_that_kind() -> None:
    values = values_of("x", [PRIMARY]) | {"stages/0/kind": "rest"}

    (stage,) = plan_of(values, [PRIMARY])["stages"]

    assert "alarm_after_s" not in stage
    assert stage["prompts"] == PRIMARY["prompts"]


def test_an_empty_line_between_two_stages_is_closed_up() -> None:
    values = {"name": "x", "stages/0/kind": "primary", "stages/3/key": "b", "stages/3/kind": "rest"}

    assert compacted(values) == {"name": "x", "stages/0/key": "b", "stages/0/kind": "rest"}


numbers = st.none() | st.integers(-50, 1000).map(lambda n: n / 10)
stages = st.fixed_dictionaries(
    {
        "key": st.sampled_from(["a", "b-2"]),
        "kind": st.sampled_from(["primary", "rest"]),
        "target_c": st.integers(0, 300).map(lambda n: n / 10),
        "low_c": numbers,
        "high_c": numbers,
        "band": st.sampled_from(["absolute", "relative"]),
        "lasts_s": st.none() | st.integers(1, 1000).map(lambda n: n * 3600),
        "ends": st.sampled_from(["brewer", "time"]),
    }
)


@settings(max_examples=50)
@given(st.lists(stages, max_size=5))
def test_what_the_form_shows_is_what_the_plan_holds(held: list[dict[str, Any]]) -> None:
    plan = plan_of(values_of("x", held), held)

    assert plan["stages"] == [{k: v for k, v in stage.items() if v is not None} for stage in held]


def test_a_plan_of_another_site_is_not_kept(visit: Visit) -> None:
    house = stored()

    answer = visit(house).post("/plans/p", data={"token": f"{TOKEN}x", "name": "n", "version": "1"})

    assert answer.status_code == 403
    assert house.stored == stored().stored


FAHRENHEIT = Taste(units="F", gravity="Plato")


@settings(max_examples=50)
@given(st.lists(stages, max_size=5))
def test_a_plan_shown_in_fahrenheit_comes_back_as_it_is_stored(held: list[dict[str, Any]]) -> None:
    plan = plan_of(values_of("x", held, FAHRENHEIT), held, FAHRENHEIT)

    for back, stage in zip(plan["stages"], held, strict=True):
        for name in ("low_c", "high_c"):
            assert back.get(name) == pytest.approx(stage.get(name), abs=1e-3)


def test_a_target_in_fahrenheit_is_kept_in_celsius_and_distances_have_no_offset() -> None:
    row = {
        "key": "p",
        "kind": "primary",
        "ends": "brewer",
        "target_c": "68",
        "low_c": "-3.6",
        "high_c": "3.6",
    }
    values = {"name": "x", **{f"stages/0/{k}": v for k, v in row.items()}, "stages/0/band": "relative"}

    (relative,) = plan_of(values, taste=FAHRENHEIT)["stages"]
    absolute = {**values, "stages/0/band": "absolute", "stages/0/low_c": "64.4", "stages/0/high_c": "71.6"}
    (plain,) = plan_of(absolute, taste=FAHRENHEIT)["stages"]

    assert (relative["target_c"], relative["low_c"], relative["high_c"]) == (20, -2, 2)
    assert (plain["low_c"], plain["high_c"]) == (18, 22)


@pytest.mark.parametrize("target", ["300", "-60"])
def test_the_limits_of_a_target_are_named_in_fahrenheit(visit: Visit, target: str) -> None:
    house = stored()
    house.likes = FAHRENHEIT
    form = {"token": TOKEN, "name": "x", "stages/0/key": "p", "stages/0/kind": "primary"}

    answer = visit(house).post(
        "/plans", data={**form, "stages/0/ends": "brewer", "stages/0/target_c": target}
    )

    words = read(answer.text).one("p", id="f-stages/0/target_c-wrong").text
    assert answer.status_code == 422
    assert " F" in words
    assert " C" not in words
    assert "looks like" not in words
