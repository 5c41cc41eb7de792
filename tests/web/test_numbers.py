"""The computations on the page: every declared one is there, asks what it declares, and shows its working."""

from urllib.parse import urlencode

import pytest

from service.brewing.call import ArgumentType, Call
from service.brewing.calls import CALLS
from tests.web.conftest import Visit
from tests.web.fake_house import FakeHouse
from tests.web.markup import Element, read
from web.words import Taste

ASKED: dict[str, dict[str, str]] = {
    "strike": {"grain_kg": "1", "water_l": "3", "grain_c": "18", "mash_c": "67"},
    "alcohol": {"og": "1.048", "fg": "1,011"},
    "gravity": {"sg": "1.048", "sample_c": "24"},
    "priming": {
        "volume_l": "5",
        "warmest_c": "20",
        "wanted_volumes": "2.3",
        "sugar": "sucrose",
        "bottles/2/size_l": "0.5",
        "bottles/2/count": "9",
    },
    "cooling": {
        "targets_c": "60 30",
        **{f"samples/{n}/at": f"2026-11-25T12:{n * 5:02d}" for n in range(5)},
        **{f"samples/{n}/temp_c": str(t) for n, t in enumerate((80, 62, 50, 41, 34))},
    },
    "pressure": {"volumes": "2.4", "temp_c": "20", "headspace_air": "no"},
}


def ask(visit: Visit, name: str, likes: Taste | None = None, **typed: str) -> Element:
    house = FakeHouse(likes=likes or Taste())
    return read(visit(house).get(f"/numbers/{name}?{urlencode({'asked': 'yes', **typed})}").text)


def test_every_computation_is_listed_with_its_question(visit: Visit) -> None:
    page = read(visit(FakeHouse()).get("/numbers").text)

    listed = {e.attributes["href"]: e.text for e in page.one("ul", css="questions").all("a")}
    assert listed == {f"/numbers/{call.name}": f"{call.title} {call.question}" for call in CALLS}


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call.name)
def test_every_argument_has_a_labelled_input(visit: Visit, call: Call) -> None:
    page = read(visit(FakeHouse()).get(f"/numbers/{call.name}").text)

    named = {e.attributes.get("name") for e in page.one("form").each()}
    labels = {e.attributes["for"] for e in page.all("label")}
    for argument in call.arguments:
        names = [argument.name]
        if argument.type is ArgumentType.OBJECTS:
            names = [f"{argument.name}/0/{field.name}" for field in argument.fields]
        assert set(names) <= named
        assert {f"f-{name}" for name in names} <= labels
    assert page.all(css="result") == []


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call.name)
def test_nothing_typed_is_never_an_error_of_the_page(visit: Visit, call: Call) -> None:
    answer = visit(FakeHouse()).get(f"/numbers/{call.name}?asked=yes")

    assert answer.status_code == 422
    assert read(answer.text).all(css="wrong") or read(answer.text).all(css="refused")


@pytest.mark.parametrize("name", ASKED)
def test_an_answer_comes_with_its_working(visit: Visit, name: str) -> None:
    page = ask(visit, name, **ASKED[name])

    result = page.one("section", css="result")
    assert result.one(css="formula").text != ""
    assert "Where it comes from" in result.text
    assert result.all("dd") != []
    kept = {e.attributes["name"]: e.attributes.get("value") for e in page.all("input")}
    assert all(value in kept.values() for value in ASKED[name].values() if value[:1].isdigit())


def test_the_answer_is_that_of_the_computation(visit: Visit) -> None:
    by_name = {call.name: call for call in CALLS}
    right = by_name["alcohol"].ask({"og": 1.048, "fg": 1.011})

    page = ask(visit, "alcohol", None, **ASKED["alcohol"])

    assert f"Alcohol by volume {right.alcohol_by_volume_percent:.2f} %" in page.one(css="result").text


def test_an_empty_line_before_a_filled_one_is_closed_up(visit: Visit) -> None:
    page = ask(visit, "priming", **ASKED["priming"])

    assert page.one("input", name="bottles/0/size_l").attributes["value"] == "0.5"
    assert "0.50 L 9" in page.one(css="result").text


def test_a_wrong_line_of_a_list_is_marked_in_that_line(visit: Visit) -> None:
    page = ask(
        visit, "priming", **{**ASKED["priming"], "bottles/0/size_l": "0.33", "bottles/0/count": "many"}
    )

    wrong = [e.attributes["name"] for e in page.each() if e.attributes.get("aria-invalid") == "true"]
    assert wrong == ["bottles/0/count"]


def test_a_missing_decimal_point_is_named_beside_the_field(visit: Visit) -> None:
    page = ask(visit, "gravity", sg="1048")

    field = page.one("input", name="sg")
    assert field.attributes["value"] == "1048"
    assert "decimal point" in page.one("p", id="f-sg-wrong").text
    assert ".." not in page.one("p", id="f-sg-wrong").text


def test_more_lines_are_given_without_working_it_out(visit: Visit) -> None:
    few = ask(visit, "priming")
    many = ask(visit, "priming", more="bottles", volume_l="5")

    assert len(many.all(css="row")) > len(few.all(css="row"))
    assert many.all(css="result") == []
    assert many.all(css="wrong") == []
    assert many.one("input", name="volume_l").attributes["value"] == "5"


def test_times_are_taken_and_told_in_the_brewers_zone(visit: Visit) -> None:
    here = ask(visit, "cooling", **ASKED["cooling"]).one(css="result").all("tr")[-1].text
    there = ask(visit, "cooling", Taste(timezone="Asia/Tokyo"), **ASKED["cooling"])

    clock = here.split()[2]
    assert clock.startswith("12:")
    assert clock in there.one(css="result").all("tr")[-1].text


def test_markup_in_what_was_typed_stays_text(visit: Visit) -> None:
    page = ask(visit, "strike", grain_kg='"><script>alert(1)</script>')

    assert page.all("script") == []
    assert page.one("input", name="grain_kg").attributes["value"] == '"><script>alert(1)</script>'


def test_an_unknown_computation_is_not_found(visit: Visit) -> None:
    assert visit(FakeHouse()).get("/numbers/horoscope").status_code == 404


def test_what_is_typed_and_told_follows_the_brewers_units(visit: Visit) -> None:
    fahrenheit = Taste(units="F")
    typed = {"grain_kg": "1", "water_l": "3", "grain_c": "64.4", "mash_c": "152.6"}

    told = ask(visit, "strike", fahrenheit, **typed).one(css="result")
    same = ask(visit, "strike", None, **{**typed, "grain_c": "18", "mash_c": "67"}).one(css="result")

    hot, low, high = (_figure(told, name) for name in ("Water", "Low end (90 %)", "High end (90 %)"))
    hot_c, low_c, high_c = (_figure(same, name) for name in ("Water", "Low end (90 %)", "High end (90 %)"))
    assert hot == pytest.approx(hot_c * 1.8 + 32, abs=0.15)
    assert (low, high) == pytest.approx((low_c * 1.8 + 32, high_c * 1.8 + 32), abs=0.15)
    assert f"{hot:g} F" in told.text


def _figure(result: Element, name: str) -> float:
    fact = next(f for f in result.all(css="fact") if f.one("dt").text == name)
    return float(fact.one("dd").text.split()[0])


def test_an_input_begins_in_the_brewers_unit_and_says_which(visit: Visit) -> None:
    page = read(visit(FakeHouse(likes=Taste(units="F", gravity="Plato"))).get("/numbers/weight-loss").text)

    assert page.one("input", name="temp_c").attributes["value"] == "68"
    labels = {e.attributes["for"]: e.text for e in page.all("label")}
    assert labels["f-temp_c"].startswith("Beer now F")
    assert labels["f-og"] == "Original gravity degrees Plato"
    assert "11.9 Plato" in page.one("p", id="f-og-hint").text


def test_a_gravity_in_plato_is_taken_and_told(visit: Visit) -> None:
    plato = Taste(gravity="Plato")

    told = ask(visit, "alcohol", plato, og="11.908", fg="2.818").one(css="result").text

    assert told == ask(visit, "alcohol", None, **ASKED["alcohol"]).one(css="result").text
    boiled = {"hot_l": "10", "minutes": "60", "boil_off_l_per_h": "2"}
    assert "Plato" in ask(visit, "boil", plato, sg="10", **boiled).one(css="result").all("dl")[0].text


def test_the_two_scales_of_a_hydrometer_stay_two(visit: Visit) -> None:
    page = ask(visit, "gravity", Taste(gravity="Plato"), plato="11.91")

    facts = {f.one("dt").text: f.one("dd").text for f in page.one(css="result").all("dl")[0].all(css="fact")}
    assert facts["Gravity"] == "1.0480 SG"
    assert facts["Extract"].endswith("degrees Plato")


@pytest.mark.parametrize(
    "name, typed, field, words",
    [
        ("dissolved", {"temp_c": "200"}, "temp_c", "outside 32 to 104 F"),
        ("dissolved", {"temp_c": "20"}, "temp_c", "Give 68 F."),
        ("dissolved", {"temp_c": "warm"}, "temp_c", "32 to 104 F"),
        ("cooling", {**ASKED["cooling"], "targets_c": "140 20"}, "targets_c", "outside 32 to 212 F"),
        ("cooling", {**ASKED["cooling"], "samples/1/temp_c": "300"}, "samples/1/temp_c", "32 to 221 F"),
        ("alcohol", {"og": "1.048", "fg": "3"}, "og", "Give 11.91 degrees Plato"),
    ],
)
def test_limits_are_named_in_the_brewers_unit(
    visit: Visit, name: str, typed: dict[str, str], field: str, words: str
) -> None:
    page = ask(visit, name, Taste(units="F", gravity="Plato"), **typed)

    assert words in page.one("p", id=f"f-{field}-wrong").text
    assert page.one("input", name=field).attributes["value"] == typed[field]
