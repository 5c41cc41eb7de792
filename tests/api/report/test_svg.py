"""A curve as SVG: well formed, within its frame, broken at gaps, with round ticks."""

import re
import xml.etree.ElementTree as ET
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.api.report.svg import (
    HEIGHT,
    MOST_TICKS_ACROSS,
    MOST_TICKS_DOWN,
    WIDTH,
    Box,
    Curve,
    Dot,
    Picture,
    drawn,
    ticks_across,
    ticks_down,
)

BEGAN = datetime(2026, 11, 1, tzinfo=UTC)
UTC_ZONE = ZoneInfo("UTC")
SVG = "{http://www.w3.org/2000/svg}"


def hours(count: int) -> list[datetime]:
    return [BEGAN + timedelta(hours=n) for n in range(count)]


def picture(values: list[float | None], **more: object) -> ET.Element:
    count = max(len(values), 2)
    given_ = {
        "curves": [Curve("liquid", hours(len(values)), values, values, values)],
        **more,
    }
    shown = drawn(
        Picture("A & <B>", "C", BEGAN, BEGAN + timedelta(hours=count - 1), UTC_ZONE, **given_)  # type: ignore[arg-type]
    )
    return ET.fromstring(str(shown))


def test_a_line_goes_through_its_values_and_breaks_at_a_gap() -> None:
    found = picture([10.0, 20.0, None, 20.0, 10.0])

    lines = [line.attrib["points"].split() for line in found.iter(f"{SVG}polyline")]
    assert [len(points) for points in lines] == [2, 2]
    (x0, y0), (x1, y1) = ([float(v) for v in point.split(",")] for point in lines[0])
    assert x0 < x1
    assert y1 < y0, "warmer is higher up"


def test_a_value_between_two_gaps_is_a_point() -> None:
    found = picture([None, 20.0, None])

    assert len(list(found.iter(f"{SVG}polyline"))) == 0
    assert len([c for c in found.iter(f"{SVG}circle") if "liquid" in c.attrib["class"]]) == 1


def test_words_are_only_words() -> None:
    found = picture([1.0, 2.0], marks=[(BEGAN, "<script>&")])

    assert found.attrib["aria-label"] == "A & <B>"
    assert "<script>&" in [text.text for text in found.iter(f"{SVG}text")]
    assert list(found.iter(f"{SVG}script")) == []


def test_a_band_without_an_end_reaches_the_edge() -> None:
    box = Box(BEGAN, BEGAN + timedelta(hours=1), None, 15.0, 12.0)
    found = picture([10.0, 20.0], boxes=[box])

    rect = next(found.iter(f"{SVG}rect"))
    assert float(rect.attrib["y"]) + float(rect.attrib["height"]) == pytest.approx(HEIGHT - 34)


def test_a_reading_has_its_interval() -> None:
    found = picture([], dots=[Dot(BEGAN, 1.02, 1.018, 1.023)], digits=3, least_span=0.004)

    line = next(line for line in found.iter(f"{SVG}line") if line.attrib["class"] == "interval")
    circle = next(found.iter(f"{SVG}circle"))
    assert float(line.attrib["y2"]) < float(circle.attrib["cy"]) < float(line.attrib["y1"])
    assert "1.020" in [text.text for text in found.iter(f"{SVG}text")]


VALUES = st.lists(st.none() | st.floats(-60, 130), max_size=40)


@settings(max_examples=80)
@given(VALUES)
def test_everything_stays_within_the_frame(values: list[float | None]) -> None:
    found = picture(values)

    for element in found.iter():
        for points in re.findall(r"[-\d.]+,[-\d.]+", element.attrib.get("points", "")):
            x, y = (float(v) for v in points.split(","))
            assert 0 <= x <= WIDTH
            assert 0 <= y <= HEIGHT


@settings(max_examples=80)
@given(st.floats(-60, 130), st.floats(0.004, 190))
def test_ticks_are_round_few_and_inside(low: float, span: float) -> None:
    found = ticks_down(low, low + span)

    assert 1 <= len(found) <= MOST_TICKS_DOWN + 1
    assert all(low - 1e-6 <= value <= low + span + 1e-6 for value in found)


@settings(max_examples=80)
@given(st.integers(600, 400 * 86400))
def test_times_across_are_few_in_order_and_inside(seconds: int) -> None:
    ends = BEGAN + timedelta(seconds=seconds)

    found = ticks_across(BEGAN, ends, ZoneInfo("Europe/Berlin"))

    assert len(found) <= MOST_TICKS_ACROSS + 2
    assert found == sorted(found)
    assert all(BEGAN <= at <= ends for at in found)


def test_midnight_stays_midnight_when_summer_time_ends() -> None:
    berlin = ZoneInfo("Europe/Berlin")
    began = datetime(2026, 10, 22, 22, tzinfo=UTC)

    found = ticks_across(began, began + timedelta(days=8), berlin)

    assert {(at.hour, at.minute) for at in found} == {(0, 0)}
    assert len(found) == 8
