"""What a batch's chart is drawn from, as plain values and as the compact JSON that its script reads. Pure."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from markupsafe import Markup

from web.views import AheadPoint, HourRow
from web.words import Taste


@dataclass(frozen=True, slots=True)
class Line:
    """One probe's curve in buckets of equal length, calibrated C; None where nothing was measured."""

    probe_id: str
    role: str
    mean_c: Sequence[float | None]
    min_c: Sequence[float | None]
    max_c: Sequence[float | None]


@dataclass(frozen=True, slots=True)
class BandPart:
    """The plan's band from a time to a time."""

    begins: datetime
    ends: datetime
    low_c: float | None
    high_c: float | None


@dataclass(frozen=True, slots=True)
class Stretch:
    """From a time to a time."""

    begins: datetime
    ends: datetime


@dataclass(frozen=True, slots=True)
class GravityPoint:
    """A gravity at a time with its 90 % interval, SG. words: how it was read, for a reading."""

    at: datetime
    sg: float
    low: float
    high: float
    words: str = ""


@dataclass(frozen=True, slots=True)
class Moment:
    """Something that happened: a stage entered, a note, a sighting, an addition."""

    at: datetime
    words: str


@dataclass(frozen=True, slots=True)
class Curves:
    """What was measured between two times. begins: of the first bucket; all lines have `count` of them."""

    begins: datetime
    step_s: int
    count: int
    lines: Sequence[Line] = ()
    band: Sequence[BandPart] = ()
    gaps: Sequence[Stretch] = ()
    strays: Sequence[Stretch] = ()


@dataclass(frozen=True, slots=True)
class Story:
    """What the chart shows beside temperatures. ahead: None while none that is fresh is kept.

    moments: notes, sightings and additions, oldest first, as they are numbered on the chart.
    """

    ahead: Sequence[AheadPoint] | None = None
    leaves_band_at: datetime | None = None
    estimates: Sequence[GravityPoint] = ()
    readings: Sequence[GravityPoint] = ()
    stages: Sequence[Moment] = ()
    moments: Sequence[Moment] = ()


def curves_json(curves: Curves, taste: Taste) -> dict[str, Any]:
    """Times in seconds since 1970, temperatures in the brewer's unit."""
    return {
        "t0": int(curves.begins.timestamp()),
        "step": curves.step_s,
        "count": curves.count,
        "probes": [
            {
                "id": line.probe_id,
                "role": line.role,
                "mean": [_degrees(v, taste) for v in line.mean_c],
                "min": [_degrees(v, taste) for v in line.min_c],
                "max": [_degrees(v, taste) for v in line.max_c],
            }
            for line in curves.lines
        ],
        "band": [
            {**_span(part), "low": _degrees(part.low_c, taste), "high": _degrees(part.high_c, taste)}
            for part in curves.band
        ],
        "gaps": [_span(gap) for gap in curves.gaps],
        "strays": [_span(stray) for stray in curves.strays],
    }


PART_WIDTHS_S = (60, 300, 3600, 21_600, 86_400)
"""Lengths of the table's parts; longer batches get several days each."""


def parts_of(curves: Curves, role: str, most: int) -> tuple[tuple[HourRow, ...], timedelta]:
    """A role's curve in at most `most` equal parts, which begin at whole ones of their length.

    A part's mean is that of its buckets that were measured.
    """
    line = next((one for one in curves.lines if one.role == role), None)
    first = int(curves.begins.timestamp())
    width = _part_width(first, curves.step_s, curves.count, most)
    if line is None:
        return (), timedelta(seconds=width)
    kept: dict[int, list[int]] = {}
    for n in range(curves.count):
        kept.setdefault((first + n * curves.step_s) // width, []).append(n)
    rows = []
    for part, buckets in kept.items():
        begins = datetime.fromtimestamp(part * width, UTC)
        mean, low, high = (
            [value for n in buckets if (value := values[n]) is not None]
            for values in (line.mean_c, line.min_c, line.max_c)
        )
        known = bool(mean and low and high)
        rows.append(
            HourRow(begins, sum(mean) / len(mean), min(low), max(high))
            if known
            else HourRow(begins, None, None, None)
        )
    return tuple(rows), timedelta(seconds=width)


def _part_width(first: int, step_s: int, count: int, most: int) -> int:
    last = first + max(0, count - 1) * step_s
    days = range(2, 100_000)
    for width in (*PART_WIDTHS_S, *(86_400 * n for n in days)):
        if width >= step_s and last // width - first // width < most:
            return width
    raise ValueError("a batch of more than a hundred thousand days")


def inline(*parts: Mapping[str, Any]) -> Markup:
    """The same JSON as text that may stand inside an element of a page: nothing in it can end the element."""
    whole = json.dumps({name: value for part in parts for name, value in part.items()}, separators=(",", ":"))
    return Markup(whole.replace("<", "\\u003c"))


def story_json(story: Story, taste: Taste) -> dict[str, Any]:
    """As `curves_json`; gravities in the brewer's scale. ahead is null while it is still being computed."""
    return {
        "ahead": None
        if story.ahead is None
        else [
            [
                int(p.at.timestamp()),
                _degrees(p.temp_c, taste),
                _degrees(p.low90_c, taste),
                _degrees(p.high90_c, taste),
                _degrees(p.low_c, taste),
                _degrees(p.high_c, taste),
            ]
            for p in story.ahead
        ],
        "estimates": [_gravity(p, taste) for p in story.estimates],
        "readings": [[*_gravity(p, taste), p.words] for p in story.readings],
        "stages": [[int(m.at.timestamp()), m.words] for m in story.stages],
        "moments": [[int(m.at.timestamp()), m.words] for m in story.moments],
    }


def _span(part: BandPart | Stretch) -> dict[str, Any]:
    return {"from": int(part.begins.timestamp()), "to": int(part.ends.timestamp())}


def _degrees(value: float | None, taste: Taste) -> float | None:
    return None if value is None else round(taste.degrees(value), 2)


def _gravity(point: GravityPoint, taste: Taste) -> list[Any]:
    return [
        int(point.at.timestamp()),
        *(round(taste.scale(v), 4) for v in (point.sg, point.low, point.high)),
    ]
