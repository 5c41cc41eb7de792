"""How far to trust what was said of an ended batch: kept scores as a table on its page."""

import pytest

from tests.web.conftest import Visit
from tests.web.fake_compared import ended
from tests.web.fake_house import FakeHouse
from tests.web.fakes import NOON, brew, larger
from tests.web.markup import read
from web.served.scored import scores_of
from web.words import Taste

FORECAST = {"n": 21, "rms": 0.31, "bias": 0.08, "holds": 0.905, "same_rms": 0.62, "sentence": "Off by 0.3 C."}
ESTIMATE = {"n": 3, "rms": 1.4, "bias": -0.6, "holds": 1.0, "same_rms": None, "sentence": "Off by 1.4."}


def test_kept_scores_become_lines_with_their_units() -> None:
    kept = {"at": "2026-11-20T12:00:00Z", "forecast": FORECAST, "estimate": ESTIMATE}

    forecast, estimate = scores_of(kept)

    assert (forecast.n, forecast.off, forecast.lean, forecast.same, forecast.unit) == (
        21,
        0.31,
        0.08,
        0.62,
        "C",
    )
    assert (estimate.n, estimate.off, estimate.holds, estimate.same, estimate.unit) == (
        3,
        1.4,
        1.0,
        None,
        "points",
    )


def test_what_could_not_be_compared_has_no_line() -> None:
    assert scores_of(None) == ()
    assert scores_of({"at": "2026-11-20T12:00:00Z", "forecast": None, "estimate": None}) == ()


@pytest.mark.parametrize(
    ("taste", "cells"),
    [
        (Taste(), ["21", "0.31 C", "+0.08 C", "90 %", "0.62 C"]),
        (Taste(units="F"), ["21", "0.56 F", "+0.14 F", "90 %", "1.12 F"]),
    ],
)
def test_the_page_of_an_ended_batch_says_how_far_to_trust(
    visit: Visit, taste: Taste, cells: list[str]
) -> None:
    house = FakeHouse([larger()], brews=[ended(NOON)], likes=taste)

    seen = read(visit(house).get("/batches/autumn-2026-10-13").text)

    section = seen.one("section", aria_labelledby="trust-title")
    first, second = section.one("tbody").all("tr")
    assert [td.text for td in first.all("td")] == cells
    assert [td.text for td in second.all("td")] == ["3", "1.4 points", "−0.6 points", "100 %", "–"]


def test_a_batch_without_scores_says_nothing_of_trust(visit: Visit) -> None:
    seen = read(visit(FakeHouse([larger()], brews=[brew()])).get("/batches/brown-2026-11-22").text)

    assert not seen.all("section", aria_labelledby="trust-title")
