"""Batches side by side: chosen, drawn on one time since pitching, and told apart in a table."""

from dataclasses import replace

import pytest

from tests.web import fakes
from tests.web.conftest import Visit
from tests.web.fake_compared import comparison, ended
from tests.web.fake_house import FakeHouse
from tests.web.fakes import NOON
from tests.web.markup import Element, read
from web.comparing import ComparisonView, DifferenceView, sheet, spread_words, value_words
from web.words import Taste

C = Taste()
BROWN, AUTUMN = "brown-2026-11-22", "autumn-2026-10-13"
BOTH = f"/compare?batch={BROWN}&batch={AUTUMN}"


@pytest.fixture
def house() -> FakeHouse:
    return FakeHouse([fakes.larger()], brews=[fakes.brew(), ended(NOON)])


def test_without_a_choice_the_batches_are_offered(visit: Visit, house: FakeHouse) -> None:
    seen = read(visit(house).get("/compare").text)

    boxes = seen.all("input", type="checkbox")
    assert [box.attributes["value"] for box in boxes] == [BROWN, AUTUMN]
    assert not seen.all("figure")


def test_two_batches_stand_side_by_side_and_stay_chosen(visit: Visit, house: FakeHouse) -> None:
    answer = visit(house).get(BOTH)

    seen = read(answer.text)
    assert answer.status_code == 200
    assert seen.one("h1").text == "Winter brown beside Autumn brown"
    assert len([p for p in seen.all("polyline") if "compared-A" in p.classes]) == 1
    assert len([p for p in seen.all("polyline") if "compared-B" in p.classes]) == 2
    assert all("checked" in box.attributes for box in seen.all("input", type="checkbox"))


def rows_of(table: Element) -> dict[str, list[str]]:
    return {tr.one("th").text: [td.text for td in tr.all("td")] for tr in table.one("tbody").all("tr")}


def test_the_table_says_what_differs_and_what_was_the_same(visit: Visit, house: FakeHouse) -> None:
    differs, same = read(visit(house).get(BOTH).text).all("table")

    assert rows_of(differs)["Original gravity"] == ["1.048 SG", "1.046 SG", "2.0 points"]
    assert rows_of(differs)["Mean until packaging"] == ["19.1 C", "20.1 C", "1.0 C"]
    assert "Packaged" not in rows_of(differs)
    assert rows_of(same) == {"Plan": ["Stair brown"]}


@pytest.mark.parametrize(
    "query",
    [f"batch={BROWN}", f"batch={BROWN}&batch={BROWN}", "&".join(f"batch=b{n}" for n in range(7))],
)
def test_one_batch_or_too_many_are_refused_in_words_with_the_choice_kept(
    visit: Visit, house: FakeHouse, query: str
) -> None:
    answer = visit(house).get(f"/compare?{query}")

    seen = read(answer.text)
    assert answer.status_code == 422
    assert seen.one("p", css="wrong").text == "Choose two to six batches."
    assert len(seen.all("input", type="checkbox")) == 2


def test_a_batch_that_does_not_exist_is_said(visit: Visit, house: FakeHouse) -> None:
    answer = visit(house).get(f"/compare?batch={BROWN}&batch=nothing")

    assert answer.status_code == 404
    assert "There is no batch nothing" in read(answer.text).text


def test_with_one_batch_alone_it_says_what_is_missing(visit: Visit) -> None:
    seen = read(visit(FakeHouse(brews=[fakes.brew()])).get("/compare").text)

    assert "There is only one batch yet" in seen.text
    assert not seen.all("form")


def test_curves_begin_at_one_time_and_a_gap_cuts_them() -> None:
    drawn = sheet(comparison([fakes.brew(), ended(NOON)]), C)

    assert drawn is not None
    first, second = drawn.curves
    assert (first.letter, second.letter) == ("A", "B")
    assert [run.split(",")[0] for run in (first.runs[0], second.runs[0])] == ["0.0", "0.0"]
    assert len(second.runs) == 2
    assert drawn.pitched == pytest.approx(24 / 239 * 100, abs=0.1)
    assert [words for _, words in drawn.days][:2] == ["day 0", "day 2"] or drawn.days[0][1] == "day -1"


def test_a_batch_without_a_measurement_has_no_curve_but_keeps_its_letter() -> None:
    seen = comparison([fakes.brew(), ended(NOON), fakes.brew()])
    silent = replace(seen, liquids=[[None] * len(seen.hours), *seen.liquids[1:]])

    drawn = sheet(silent, C)

    assert drawn is not None
    assert [curve.letter for curve in drawn.curves] == ["B", "C"]


def test_nothing_measured_is_no_drawing() -> None:
    assert sheet(ComparisonView([], [], [], []), C) is None


@pytest.mark.parametrize(
    ("unit", "value", "taste", "words"),
    [
        ("C", 20.0, C, "20.0 C"),
        ("C", 20.0, Taste(units="F"), "68.0 F"),
        ("C h", 5.0, Taste(units="F"), "9.0 F h"),
        ("SG", 1.048, Taste(gravity="Plato"), "11.9 Plato"),
        (None, 3.0, C, "3"),
        ("d", 2.5, C, "2.5 d"),
        (None, "Bucket", C, "Bucket"),
        ("l", None, C, "–"),
    ],
)
def test_a_value_is_said_in_the_brewers_units(
    unit: str | None, value: float | str | None, taste: Taste, words: str
) -> None:
    line = DifferenceView("it", unit, [value], None, False)

    assert value_words(line, value, taste) == words


@pytest.mark.parametrize(
    ("unit", "values", "taste", "words"),
    [
        ("C", [19.0, 20.0], Taste(units="F"), "1.8 F"),
        ("SG", [1.048, 1.040], Taste(gravity="Plato"), "1.9"),
        ("l", [5.0, 4.5], C, "0.5 l"),
    ],
)
def test_how_far_apart_is_said_in_the_brewers_units(
    unit: str, values: list[float], taste: Taste, words: str
) -> None:
    line = DifferenceView("it", unit, values, round(max(values) - min(values), 4), False)

    assert spread_words(line, taste) == words
