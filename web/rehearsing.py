"""A rehearsal as pages show it, and its picture: time across, temperature up, in percent of it. Pure.

Curves are drawn in a box of 1000 by 1000 that the page stretches; letters stand in percent, so that they are
never stretched with it.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import groupby
from typing import Any

from service.errors import InvalidInputError, Problem
from web.scale import Stretch, Tick, ticks
from web.views import AheadPoint
from web.words import Taste

BOX = 1000
MOST_DAYS = 5
FIELDS = ("vessel_id", "volume_l", "og", "pitch_c", "surroundings_c", "wanted_at", "away_from", "away_to")
UNNAMED = "Not named yet"
"""A plan can be rehearsed before it has a name."""

PREFIX = "in/"
"""Before the names of the fields that a rehearsal needs beside the plan."""


@dataclass(frozen=True, slots=True)
class StageSpan:
    """A stage of the rehearsal: its name, when it begins and ends."""

    key: str
    begins: datetime
    ends: datetime


@dataclass(frozen=True, slots=True)
class StrayView:
    """A stretch outside the band. side: warm or cold."""

    begins: datetime
    ends: datetime
    side: str
    worst_c: float
    stage: str


@dataclass(frozen=True, slots=True)
class RehearsalView:
    """A plan run in a place. unreachable: stage and why. days: sentences on when to brew."""

    points: Sequence[AheadPoint]
    stages: Sequence[StageSpan] = ()
    strays: Sequence[StrayView] = ()
    unreachable: Sequence[tuple[str, str]] = ()
    advice: Sequence[str] = ()
    days: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Word:
    """A word at x percent."""

    x: float
    words: str


@dataclass(frozen=True, slots=True)
class Picture:
    """The drawing. degrees: x is the height in percent from below. stages, days: their left edges."""

    fairways: Sequence[str]
    spread: str
    line: str
    strays: Sequence[Stretch]
    degrees: Sequence[Tick]
    stages: Sequence[Word]
    days: Sequence[Word]


def picture(seen: RehearsalView, taste: Taste) -> Picture | None:
    """The drawing of a rehearsal, or None when it has no course."""
    points = seen.points
    if len(points) < 2:
        return None
    begins, length = points[0].at, points[-1].at - points[0].at
    known = [v for p in points for v in (p.low90_c, p.high90_c, p.low_c, p.high_c) if v is not None]
    low, high = _whole(min(known) - 0.5, taste, math.floor), _whole(max(known) + 0.5, taste, math.ceil)

    def x(at: datetime) -> float:
        return round((at - begins) / length * BOX, 1)

    def y(temp_c: float) -> float:
        return round(BOX - (temp_c - low) / (high - low) * BOX, 1)

    upper = [f"{x(p.at)},{y(p.high90_c)}" for p in points]
    lower = [f"{x(p.at)},{y(p.low90_c)}" for p in reversed(points)]
    return Picture(
        fairways=[_area(run, x, y, low, high) for run in _banded(points)],
        spread=" ".join([*upper, *lower]),
        line=" ".join(f"{x(p.at)},{y(p.temp_c)}" for p in points),
        strays=[Stretch(x(s.begins) / 10, max(0.4, (x(s.ends) - x(s.begins)) / 10)) for s in seen.strays],
        degrees=[tick for tick in ticks(low, high, taste) if tick.label],
        stages=[Word(x(s.begins) / 10, s.key) for s in seen.stages],
        days=_days(begins, points[-1].at, x, taste),
    )


def stray_words(stray: StrayView, taste: Taste, now: datetime) -> str:
    """A stray as a sentence."""
    far = "up" if stray.side == "warm" else "down"
    return (
        f"{stray.stage}: too {stray.side} from {taste.moment(stray.begins, now)}"
        f" to {taste.moment(stray.ends, now)}, {far} to {taste.temperature(stray.worst_c)}."
    )


def fields_of(values: Mapping[str, str]) -> dict[str, str]:
    """What the rehearsal needs beside the plan, by the names it has there."""
    return {name: values.get(PREFIX + name, "") for name in FIELDS}


def in_form(problems: Sequence[Problem]) -> InvalidInputError:
    """Problems of a rehearsal, named after the fields that the form has."""
    return InvalidInputError(*(Problem(_field(p.field), p.problem, p.remedy) for p in problems))


def _field(name: str) -> str:
    if name.startswith("/plan/"):
        return name.removeprefix("/plan").replace("/lasts_s", "/lasts_h")
    if name.startswith("/away"):
        return f"/{PREFIX}away_to" if name.endswith("/to") else f"/{PREFIX}away_from"
    first = name.strip("/").split("/")[0]
    return f"/{PREFIX}{first}" if first in FIELDS else name


def request_of(plan: Mapping[str, Any], fields: Mapping[str, Any]) -> dict[str, Any]:
    """The request of a rehearsal in the shape of the HTTP contract."""
    asked = {name: value for name, value in fields.items() if not name.startswith("away_")}
    since, until = fields.get("away_from"), fields.get("away_to")
    if since or until:
        asked["away"] = [{"from": since, "to": until}]
    return {"plan": {**plan, "name": plan.get("name") or UNNAMED}, **asked}


def _banded(points: Sequence[AheadPoint]) -> list[list[AheadPoint]]:
    """Runs of points that have a band; where it changes in a step both bands meet."""
    found: list[list[AheadPoint]] = []
    for has, run in groupby(points, key=lambda p: p.low_c is not None or p.high_c is not None):
        if has:
            found.append(list(run))
    return found


def _area(
    run: Sequence[AheadPoint],
    x: Callable[[datetime], float],
    y: Callable[[float], float],
    low: float,
    high: float,
) -> str:
    top = [f"{x(p.at)},{y(high if p.high_c is None else p.high_c)}" for p in run]
    foot = [f"{x(p.at)},{y(low if p.low_c is None else p.low_c)}" for p in reversed(run)]
    return " ".join([*top, *foot])


def _days(begins: datetime, ends: datetime, x: Callable[[datetime], float], taste: Taste) -> list[Word]:
    first = taste.local(begins).replace(hour=0, minute=0, second=0, microsecond=0)
    step = max(1, math.ceil((ends - begins) / timedelta(days=MOST_DAYS)))
    words = []
    for n in range(1, (ends - begins).days + 2, step):
        at = (first + timedelta(days=n)).astimezone(UTC)
        if begins <= at <= ends:
            local = taste.local(at)
            words.append(Word(x(at) / 10, f"{local.day} {local:%b}"))
    return words


def _whole(temp_c: float, taste: Taste, rounded: Callable[[float], int]) -> float:
    return taste.celsius(rounded(taste.degrees(temp_c)))
