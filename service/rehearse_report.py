"""`gylewatch rehearse`: a plan tried before brewing, or a batch replayed, as text or JSON."""

import json
import textwrap
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import ValidationError
from sqlalchemy import Connection

from service.actions.insight_answers import RehearsalAnswer, ScoresAnswer
from service.actions.planned import Planned
from service.actions.rehearsal import Stored, answer, prepared, stored_for
from service.actions.rehearsal_asks import Rehearse
from service.actions.replay import Replayed, replay
from service.actions.summary import scores_name
from service.errors import GylewatchError, InvalidInputError, NotFoundError, Problem
from service.plans.reading import plan_from_json
from service.record.database import Record, open_record
from service.record.marks import set_mark
from service.record.vessels import vessels
from service.settings import Settings
from service.thermal.brewdays import seasons
from service.thermal.rehearsal import Rehearsal, Setting
from service.watch.fits import Worker
from service.watch.house import House, load_house

WIDE = 78

Say = Callable[[str], Any]


@dataclass(frozen=True, slots=True)
class Season:
    """A season's name and the mean temperature of the room in it."""

    name: str
    mean_c: float


def season_from(text: str) -> Season:
    """A season from words such as winter=16."""
    name, _, mean = text.partition("=")
    try:
        return Season(name.strip() or "season", float(mean))
    except ValueError:
        problem = Problem("--season", f"{text!r} is no season", "Give a name and a mean, such as winter=16.")
        raise InvalidInputError(problem) from None


def room_from(mean_c: float | None, swing_c: float, warmest_at: str, trace: Path | None) -> Any:
    """The room as the API takes it; None when nothing was said of it."""
    if trace is not None:
        return {"trace": _json_of(str(trace), "a trace")}
    if mean_c is None:
        return None
    return {"mean_c": mean_c, "swing_c": swing_c, "warmest_at": warmest_at}


def away_from(text: str) -> dict[str, str]:
    """Days away from words such as 2026-12-01T08:00:00Z..2026-12-04T20:00:00Z."""
    begins, dots, ends = text.partition("..")
    if not dots:
        problem = Problem("--away", f"{text!r} is no span", "Give two times with .. between them.")
        raise InvalidInputError(problem)
    return {"from": begins, "to": ends}


def _json_of(name: str, what: str) -> Any:
    try:
        return json.loads(Path(name).read_text(encoding="utf-8"))
    except (OSError, ValueError) as wrong:
        problem = Problem(name, f"cannot be read as {what}: {wrong}", "Give a file with JSON.")
        raise InvalidInputError(problem) from None


def ask_from(plan: str, given: dict[str, Any]) -> Rehearse:
    """What is asked, checked as the API checks it. plan: a file with a plan, or the id of a stored one."""
    if Path(plan).is_file() or plan.endswith(".json"):
        given["plan"] = _json_of(plan, "a plan")
        plan_from_json(given["plan"])
    else:
        given["plan_id"] = plan
    try:
        return Rehearse.model_validate({k: v for k, v in given.items() if v not in (None, [])})
    except ValidationError as wrong:
        raise InvalidInputError(
            *(
                Problem("".join(f"/{part}" for part in e["loc"]), str(e["msg"]))
                for e in wrong.errors(include_input=False, include_context=False)
            )
        ) from None


def rehearse(settings: Settings, ask: Rehearse, many: Sequence[Season], as_json: bool, say: Say) -> None:
    """Run a rehearsal and say how it went. InvalidInputError, NotFoundError in words."""
    now = datetime.now(UTC)
    found = Stored()
    if ask.plan_id is not None or ask.vessel_id is not None:
        with _record(settings) as record, record.reading() as connection:
            found = _stored(connection, load_house(connection), ask, now)
    course, given = prepared(ask, found, now, settings.zone)
    told = answer(given, course, ask, now)
    others = seasons(given, [(one.name, one.mean_c) for one in many])
    if as_json:
        whole = told.model_dump(mode="json", by_alias=True)
        if many:
            whole["seasons"] = [_season_json(one, run) for one, (_, run) in zip(many, others, strict=True)]
        say(json.dumps(whole, indent=2))
        return
    for line in _text(given, course, told, settings.zone):
        say(line)
    for line in _season_lines(many, [run for _, run in others]):
        say(line)


def replay_batch(settings: Settings, batch_id: str, as_json: bool, say: Say) -> None:
    """Replay a batch, keep its scores, and say them."""
    now = datetime.now(UTC)
    with _record(settings) as record:
        with record.reading() as connection:
            house = load_house(connection)
        scores = replay(Replayed(record, house, settings.zone, Worker()), batch_id, now)
        told = scores.model_dump(mode="json")
        record.write(lambda c: set_mark(c, scores_name(batch_id), told))
    if as_json:
        say(json.dumps({"batch_id": batch_id, **told}, indent=2))
        return
    for line in _score_lines(batch_id, scores):
        say(line)


@contextmanager
def _record(settings: Settings) -> Iterator[Record]:
    if settings.database_url is None and not (settings.data_dir / "record.db").exists():
        raise NotFoundError(
            f"There is no record in {settings.data_dir}. Give a file with a plan, and --volume and --room; "
            "or name the folder with GYLEWATCH_DATA_DIR."
        )
    record = open_record(settings.data_dir, settings.database_url, time.monotonic)
    try:
        yield record
    finally:
        record.close()


def _stored(connection: Connection, house: House, ask: Rehearse, now: datetime) -> Stored:
    try:
        return stored_for(connection, house, ask, now)
    except NotFoundError as missing:
        known = ", ".join(v.id for v in vessels(connection)) or "none"
        raise GylewatchError(
            f"{missing} A plan is a file or the id of a stored plan; vessels: {known}."
        ) from None


def _wrapped(text: str, indent: str = "  ") -> list[str]:
    return textwrap.wrap(text, WIDE, initial_indent=indent, subsequent_indent=indent + "  ")


def _text(given: Setting, course: Planned, told: RehearsalAnswer, zone: ZoneInfo) -> Iterator[str]:
    room = given.room
    swing = f" +/- {room.swing_c:g}" if room.swing_c else ""
    yield (
        f"{given.volume_l:g} l of {given.og:.3f}, pitched at {given.pitch_c:.1f} C, "
        f"room {room.mean_c:.1f}{swing} C, {course.whole_h / 24:.0f} days"
    )
    if told.points:
        warmest = max(told.points, key=lambda p: p.temp_c)
        yield (
            f"Warmest: {warmest.temp_c:.1f} C on {_when(warmest.at, zone)}"
            f" ({warmest.low90_c:.1f} to {warmest.high90_c:.1f} with 90 %)"
        )
        yield ""
        yield from _days(told, zone)
        yield ""
    if told.points and not told.strays:
        yield "It stays in its bands."
    for stray in told.strays:
        yield from _wrapped(
            f"Too {stray.side} from {_when(stray.from_, zone)} to {_when(stray.to, zone)}, "
            f"at worst {stray.worst_c:.1f} C, in '{stray.stage}'.",
            "",
        )
    for lost in told.unreachable:
        yield from _wrapped(f"'{lost.stage}' cannot be held: {lost.why}", "")
    for one in told.advice:
        yield from _wrapped(f"- {one.sentence}", "")


def _when(at: datetime, zone: ZoneInfo) -> str:
    return f"{at.astimezone(zone):%a %d %b %H:%M}"


def _days(told: RehearsalAnswer, zone: ZoneInfo) -> Iterator[str]:
    """One line for each day: lowest and highest, band, and how the day lay in it."""
    yield f"{'day':<12}{'lowest':>8}{'highest':>9}   {'band':<16}{'stage':<16}"
    days: dict[str, list[Any]] = {}
    for point in told.points:
        days.setdefault(f"{point.at.astimezone(zone):%a %d %b}", []).append(point)
    for day, points in days.items():
        middle = points[len(points) // 2]
        low, high = ("-" if edge is None else f"{edge:.1f}" for edge in (middle.low_c, middle.high_c))
        out = any(
            (p.high_c is not None and p.temp_c > p.high_c) or (p.low_c is not None and p.temp_c < p.low_c)
            for p in points
        )
        yield (
            f"{day:<12}{min(p.temp_c for p in points):>8.1f}{max(p.temp_c for p in points):>9.1f}   "
            f"{f'{low} to {high}':<16}{(middle.stage or '')[:14]:<16}{'outside' if out else ''}"
        ).rstrip()


def _season_lines(many: Sequence[Season], runs: Sequence[Rehearsal]) -> Iterator[str]:
    if many:
        yield ""
        yield f"{'season':<16}{'room':>7}{'warmest':>9}{'hours warm':>12}{'hours cold':>12}"
    for one, run in zip(many, runs, strict=True):
        warmest = max((p.temp_c for p in run.points), default=float("nan"))
        yield (
            f"{one.name[:15]:<16}{one.mean_c:>7.1f}{warmest:>9.1f}"
            f"{_stray_h(run, 'warm'):>12.0f}{_stray_h(run, 'cold'):>12.0f}"
        )


def _stray_h(run: Rehearsal, side: str) -> float:
    return sum((s.to - s.since).total_seconds() for s in run.strays if s.side == side) / 3600


def _season_json(one: Season, run: Rehearsal) -> dict[str, Any]:
    return {
        "name": one.name,
        "mean_c": one.mean_c,
        "warmest_c": round(max(p.temp_c for p in run.points), 2) if run.points else None,
        "warm_h": round(_stray_h(run, "warm"), 1),
        "cold_h": round(_stray_h(run, "cold"), 1),
    }


def _score_lines(batch_id: str, scores: ScoresAnswer) -> Iterator[str]:
    yield f"{batch_id}, replayed against what happened:"
    for name, one, missing in (
        ("Forecast, 12 hours ahead", scores.forecast, "no forecast could be compared with the beer."),
        ("Gravity, before each reading", scores.estimate, "no direct reading to compare an estimate with."),
    ):
        yield from _wrapped(f"{name}: {missing if one is None else one.sentence}")
    yield "The scores are kept and shown with the batch's summary."
