"""A probe calibrated by forms on the real desk: points, their line, its history, and the way back."""

import pytest

from tests.rig import PROBE, Rig
from tests.web.served_pages import page, refused, send
from tests.web.visitor import Visitor

PATH = f"/probes/{PROBE}/calibration"


@pytest.fixture(autouse=True)
def heard(rig: Rig) -> None:
    rig.rounds(2)


def test_ice_water_corrects_the_probe_and_the_page_still_shows_it_uncorrected(
    rig: Rig, visitor: Visitor
) -> None:
    assert "never calibrated" in page(visitor, PATH).one("h1").text
    rig.source.values[PROBE] = 0.3
    rig.rounds(12)

    send(visitor, PATH, f"{PATH}/ice", reading_c="0,30")
    rig.rounds(2)

    seen = page(visitor, PATH)
    assert "is corrected" in seen.one("h1").text
    assert seen.one(data_part="raw").one("strong").text == "0.30 C"
    assert seen.one("article").one(css="soft").text == "0.30 C was 0.00 C"
    assert rig.get(f"/probes/{PROBE}")["last"]["temp_c"] == pytest.approx(0.0, abs=0.01)


def test_two_points_of_one_sitting_make_a_line_and_the_first_stays_in_the_history(visitor: Visitor) -> None:
    send(visitor, PATH, f"{PATH}/ice", reading_c="0.25")
    send(visitor, PATH, f"{PATH}/boil", reading_c="98.6", altitude_m="500")

    newest, first = page(visitor, PATH).all("article")
    assert newest.one(css="line-state").text.startswith("Holds from")
    assert "98.60 C was 98." in newest.text
    assert "True = 1.0000 × shown − 0.25 C" in first.text
    assert "Replaced" in first.text


def test_an_odd_line_is_kept_with_its_warning(visitor: Visitor) -> None:
    send(visitor, PATH, f"{PATH}/ice", reading_c="1.4")

    assert "Look again." in page(visitor, PATH).one("article").text


@pytest.mark.parametrize(
    ("method", "typed", "field"),
    [
        ("ice", {"reading_c": ""}, "reading_c"),
        ("ice", {"reading_c": "cold"}, "reading_c"),
        ("ice", {"reading_c": "12"}, "reading_c"),
        ("reference", {"reading_c": "20.4"}, "reference_c"),
        ("ice", {"reading_c": "0.2", "from": "2099-01-01T00:00"}, "from"),
    ],
)
def test_a_point_that_cannot_be_is_refused_beside_its_field(
    visitor: Visitor, method: str, typed: dict[str, str], field: str
) -> None:
    back = refused(visitor, PATH, f"{PATH}/{method}", **typed)

    assert back.one(id=f"{method}-{field}-wrong").text
    assert back.one("input", id=f"{method}-reading_c").attributes["value"] == typed["reading_c"]
    assert "open" in back.one("details", id=f"{method}-form").attributes
    assert page(visitor, PATH).all("article") == []


def test_boiling_water_needs_its_altitude_or_pressure(visitor: Visitor) -> None:
    back = refused(visitor, PATH, f"{PATH}/boil", reading_c="98.6")

    assert "That was not done." in back.one(role="alert").text
    assert page(visitor, PATH).all("article") == []


def test_a_calibration_is_taken_back(rig: Rig, visitor: Visitor) -> None:
    send(visitor, PATH, f"{PATH}/ice", reading_c="0.3")

    n = rig.get(f"/probes/{PROBE}/calibrations")["items"][0]["n"]
    send(visitor, PATH, f"/probes/{PROBE}/calibrations/{n}/remove")

    assert page(visitor, PATH).all("article") == []
    assert "never calibrated" in page(visitor, PATH).one("h1").text


def test_a_point_in_fahrenheit_is_kept_in_celsius_and_told_in_fahrenheit(rig: Rig, visitor: Visitor) -> None:
    rig.watch.round()
    rig.patch("/notation", {"temperatures": "F"})
    path = f"/probes/{PROBE}/calibration"

    send(visitor, path, f"{path}/ice", reading_c="32.9")

    (kept,) = rig.get(f"/probes/{PROBE}/calibrations")["items"]
    assert kept["points"][0]["reading_c"] == pytest.approx(0.5)
    told = page(visitor, path).one(data_part="history").text
    # 32.9 F shown was 32 F: everything is 0.9 F lower
    assert "True = 1.0000 × shown − 0.90 F" in told
    assert "32.90 F was 32.00 F" in told


def test_a_point_that_no_probe_shows_is_refused_in_fahrenheit(rig: Rig, visitor: Visitor) -> None:
    rig.watch.round()
    rig.patch("/notation", {"temperatures": "F"})
    path = f"/probes/{PROBE}/calibration"

    back = refused(visitor, path, f"{path}/ice", reading_c="400")
    wordy = refused(visitor, path, f"{path}/ice", reading_c="cold")

    assert "is outside -67 to 257 F" in back.one("p", id="ice-reading_c-wrong").text
    assert "Is not a number." in wordy.one("p", id="ice-reading_c-wrong").text
