"""Putting a batch's report together: facts, charts, and what was written down, as one page."""

import base64
import hashlib
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from service.actions.answers import GapAnswer, SeriesAnswer, StrayAnswer
from service.actions.desk import Desk
from service.actions.entries import every_entry
from service.actions.entry_asks import ASKS
from service.actions.export import record_head
from service.actions.insight_answers import HourAnswer, SummaryAnswer
from service.actions.record_answers import RecordHead
from service.actions.series import series
from service.actions.summary import summary
from service.api.report.svg import Box, Curve, Dot, Picture, drawn
from service.brewing.alcohol import alcohol
from service.errors import InvalidInputError
from service.plans.moments import said_length

HERE = Path(__file__).parent
POINTS = 800
MOST_ROWS = 30
"""A page is to be read: of strays and gaps the longest."""

BY_ROLE = {"liquid": "the beer", "surroundings": "its surroundings", "bath": "its bath"}


@cache
def _style() -> str:
    return (HERE / "page.css").read_text(encoding="utf-8")


@cache
def policy() -> str:
    """The page's own content security policy: nothing but its one style sheet, by its hash."""
    digest = base64.b64encode(hashlib.sha256(_style().encode()).digest()).decode()
    return (
        f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    )


@cache
def _template() -> Any:
    environment = Environment(
        loader=FileSystemLoader(HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    return environment.get_template("page.html")


def report_page(desk: Desk, batch_id: str) -> str:
    """The report of a batch as HTML; NotFoundError when there is none."""
    head = record_head(desk, batch_id)
    lists = {name: every_entry(desk, batch_id, name)[::-1] for name in ASKS}
    readings = [{**one, "at": datetime.fromisoformat(one["at"])} for one in lists["readings"]]
    told = [{"at": _at(one), "text": one["text"]} for one in lists["notes"]]
    told += [{"at": _at(one), "text": one["what"].replace("-", " ")} for one in lists["sightings"]]
    told += [{"at": mark.at, "text": mark.sentence} for mark in head.probe_changes]
    zone, looked = desk.zone, summary(desk, batch_id)
    strays = sorted(looked.strays, key=_length, reverse=True)[:MOST_ROWS]
    gaps = sorted(head.gaps, key=_length, reverse=True)[:MOST_ROWS]
    page: str = _template().render(
        style=Markup(_style()),  # ours, and no part of it was given by anybody
        zone=zone.key,
        batch=head.batch,
        facts=_facts(desk, head, looked, readings),
        pictures=_pictures(desk, head),
        gravity=_gravity(head, readings, zone),
        stages=[
            (stage, stage_looked) for stage, stage_looked in zip(head.stages, looked.stages, strict=False)
        ],
        strays=sorted(strays, key=lambda one: one.from_),
        more_strays=len(looked.strays) - len(strays),
        estimates=looked.estimates,
        squeezes=[{**one, "at": _at(one)} for one in lists["squeezes"]],
        openings=[{**one, "at": _at(one)} for one in lists["openings"]],
        tastings=[{**one, "at": _at(one)} for one in lists["tastings"]],
        faults=looked.faults,
        answered={one.id: one.answered_after_s for one in looked.alarms},
        readings=readings,
        additions=[{**one, "at": _at(one)} for one in lists["additions"]],
        packagings=[{**one, "at": _at(one)} for one in lists["packagings"]],
        told=sorted(told, key=lambda one: one["at"]),
        alarms=head.alarms,
        gaps=sorted(gaps, key=lambda one: one.from_),
        more_gaps=len(head.gaps) - len(gaps),
        labels={probe.id: probe.label for probe in head.probes},
        made_at=head.made_at,
        made_by=head.made_by,
        at=lambda when: _local(when, zone, "%Y-%m-%d %H:%M"),
        day=lambda when: _local(when, zone, "%Y-%m-%d"),
        days=lambda a, b: f"{((b or head.made_at) - a) / timedelta(days=1):.1f}",
        sg=lambda value: "" if value is None else f"{value:.4f}",
        share=lambda value: "" if value is None else f"{100 * value:.1f} %",
        lasted=lambda seconds: "" if seconds is None else said_length(seconds),
    )
    return page


def _at(entry: Mapping[str, Any]) -> datetime:
    return datetime.fromisoformat(entry["at"])


def _local(when: datetime, zone: ZoneInfo, form: str) -> str:
    return when.astimezone(zone).strftime(form)


def _length(one: StrayAnswer | GapAnswer) -> timedelta:
    return one.to - one.from_


def _facts(
    desk: Desk, head: RecordHead, looked: SummaryAnswer, readings: Sequence[Mapping[str, Any]]
) -> list[tuple[str, str]]:
    batch = head.batch
    last = next((r["corrected_sg"] for r in reversed(readings) if r["corrected_sg"] is not None), None)
    found: list[tuple[str, str | None]] = [
        ("Vessel", ", ".join(dict.fromkeys(vessel.name for vessel in head.vessels))),
        ("Plan", str(batch.plan["name"])),
        ("Yeast", None if batch.yeast is None else str(batch.yeast["name"])),
        ("Volume", _said(batch.volume_l, "g", " l")),
        ("Original gravity", _said(batch.og, ".3f")),
        ("Expected final gravity", _said(batch.expected_fg, ".3f")),
        ("Last measured gravity", _said(last, ".3f")),
        *_of_alcohol(batch.og, last),
        (
            "In its band",
            _said(None if (s := looked.in_band_share) is None else 100 * s, ".1f", " % of the time"),
        ),
        ("Worked at", _said(looked.worked_at_c, ".1f", " C")),
        ("Too warm, too cold", f"{looked.degree_hours.warm:.1f}, {looked.degree_hours.cold:.1f} C h"),
        ("Warmest hour until packaging", _said_hour(looked.warmest_hour, desk.zone)),
        ("Coldest hour until packaging", _said_hour(looked.coldest_hour, desk.zone)),
        ("Not recorded", said_length(looked.missing_s) if looked.missing_s else None),
    ]
    return [(word, value) for word, value in found if value]


def _of_alcohol(og: float | None, sg: float | None) -> list[tuple[str, str | None]]:
    if og is None or sg is None:
        return []
    try:
        known = alcohol(og=og, fg=sg)
    except InvalidInputError:
        return []
    return [
        ("Alcohol by volume", f"{known.alcohol_by_volume_percent:.1f} %"),
        ("Apparent attenuation", f"{known.apparent_attenuation_percent:.0f} %"),
    ]


def _said(value: float | None, form: str, unit: str = "") -> str | None:
    return None if value is None else f"{value:{form}}{unit}"


def _said_hour(hour: HourAnswer | None, zone: ZoneInfo) -> str | None:
    return None if hour is None else f"{hour.temp_c:.1f} C, {_local(hour.at, zone, '%Y-%m-%d %H:%M')}"


def _pictures(desk: Desk, head: RecordHead) -> list[tuple[str, Markup]]:
    """The brewing day by itself, as it would press the rest flat, then all after pitching."""
    batch = head.batch
    began, pitched = batch.started_at, batch.pitched_at
    ends = max(batch.ended_at or head.made_at, began + timedelta(minutes=10))
    cuts = [began, ends]
    if pitched is not None and began + timedelta(minutes=10) < pitched < ends - timedelta(minutes=10):
        cuts = [began, pitched, ends]
    return [
        shown
        for a, b in pairwise(cuts)
        if (shown := _picture(desk, head, series(desk, batch.id, a, b, POINTS), a, b)) is not None
    ]


def _picture(
    desk: Desk, head: RecordHead, seen: SeriesAnswer, from_at: datetime, to_at: datetime
) -> tuple[str, Markup] | None:
    if not any(value is not None for probe in seen.probes for value in probe.mean_c):
        return None
    roles = dict.fromkeys(probe.role for probe in seen.probes)
    words = f"Temperature of {' and '.join(BY_ROLE.get(role, role) for role in roles)}"
    picture = Picture(
        title=f"{words}, {_local(from_at, desk.zone, '%Y-%m-%d')} to {_local(to_at, desk.zone, '%Y-%m-%d')}",
        unit="C",
        from_at=from_at,
        to_at=to_at,
        zone=desk.zone,
        curves=[
            Curve(
                probe.role,
                [datetime.fromisoformat(t) + timedelta(seconds=seen.bucket_s / 2) for t in probe.t],
                probe.mean_c,
                probe.min_c,
                probe.max_c,
            )
            for probe in seen.probes
        ],
        boxes=[Box(band.from_, band.to, band.low_c, band.high_c, band.target_c) for band in seen.band],
        marks=[(stage.entered_at, stage.key) for stage in head.stages],
    )
    caption = f"{words}: means of {_span(seen.bucket_s)} with the lowest and highest value; shaded, the band."
    return caption, drawn(picture)


def _span(seconds: int) -> str:
    return {60: "a minute", 300: "5 minutes", 3600: "an hour", 21600: "6 hours"}.get(seconds, "a day")


def _gravity(head: RecordHead, readings: Sequence[Mapping[str, Any]], zone: ZoneInfo) -> Markup | None:
    dots = [
        Dot(one["at"], one["corrected_sg"], one["low"], one["high"])
        for one in readings
        if one["corrected_sg"] is not None
    ]
    if len(dots) < 2:
        return None
    from_at = min(dots[0].at, head.batch.pitched_at or head.batch.started_at)
    return drawn(
        Picture(
            title="Gravity as measured",
            unit="SG",
            from_at=from_at,
            to_at=max(dot.at for dot in dots) + timedelta(hours=1),
            zone=zone,
            dots=dots,
            digits=3,
            least_span=0.004,
        )
    )
