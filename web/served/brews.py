"""Batches on the running service: the list, one with its stages, and what can be done to it."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from service.actions import batches, plans, vessels
from service.actions.answers import BatchAnswer, StageAnswer
from service.actions.asks import Advance, NewBatch
from service.actions.desk import Desk
from service.actions.summary import scores_name
from service.errors import InvalidInputError
from service.plans.band import band_at
from service.plans.kinds import KINDS
from service.plans.model import Stage
from service.plans.reading import plan_from_json
from service.record.estimates import kept_estimates
from service.record.marks import read_mark
from web.chart import Curves, parts_of
from web.pages.batches import BatchLine, BatchView, StageRow
from web.pages.probes import Choice
from web.series import BATCH_POINTS
from web.served.asked import asked
from web.served.curved import curves_of
from web.served.foreseen import evidence_of, progress_of
from web.served.questions import questions_of
from web.served.scored import scores_of
from web.summary import whole_sentence
from web.views import BandView, HourRow
from web.words import Taste, duration

MOST_PARTS = 60
UNKEPT = timedelta(minutes=2)
"""How long what was measured may wait for its commit."""
ORDER = ("running", "conditioning", "ended")


class BrewsPart:
    """What the pages of batches ask."""

    _desk: Desk

    def taste(self) -> Taste:
        """How this brewer wants values written."""
        raise NotImplementedError

    def batches(self) -> Sequence[BatchLine]:
        """Every batch, running ones first, then newest first."""
        names = self._vessel_names()
        found = [one for one, _ in batches.every_batch(self._desk)]
        lines = [
            BatchLine(
                id=one.id,
                name=one.name,
                state=one.state,
                started_at=one.started_at,
                vessel_name=names.get(one.vessel_id or ""),
                stage=one.stage,
                ended_at=one.ended_at,
            )
            for one in found
        ]
        return sorted(lines, key=lambda line: ORDER.index(line.state))

    def batch(self, batch_id: str) -> BatchView:
        """One batch."""
        one, _ = batches.one_batch(self._desk, batch_id)
        now = self._desk.now()
        steps = list(reversed(batches.stages_of(self._desk, batch_id)))
        whole = self._whole(one)
        parts, part = ((), timedelta(hours=1)) if whole is None else parts_of(whole, "liquid", MOST_PARTS)
        parts = _finished(parts, part, one.ended_at or now)
        with self._desk.record.reading() as connection:
            kept = kept_estimates(connection, batch_id)
            scores = read_mark(connection, scores_name(batch_id))
        return BatchView(
            id=one.id,
            name=one.name,
            state=one.state,
            started_at=one.started_at,
            stages=_rows(one, steps, now, self._held_back(one, now)),
            vessel_id=one.vessel_id,
            vessel_name=self._vessel_names().get(one.vessel_id or ""),
            pitched_at=one.pitched_at,
            ended_at=one.ended_at,
            volume_l=one.volume_l,
            og=one.og,
            expected_fg=one.expected_fg,
            next_key=next_key(one),
            undo="the last change" if len(steps) > 1 or one.ended_at is not None else None,
            days=parts,
            part_words=duration(part),
            sentence=whole_sentence(parts, part, self.taste(), now),
            progress=progress_of(kept, now, one.ended_at is not None),
            evidence=evidence_of(kept, now, one.ended_at is not None),
            on_the_stove=on_the_stove(one),
            scores=scores_of(scores),
            curves=whole,
            questions=questions_of(self._desk, batch_id),
        )

    def plan_choices(self) -> Sequence[Choice]:
        """Every plan, by name."""
        found = [Choice(one.id, one.name) for one, _ in plans.every_plan(self._desk)]
        return sorted(found, key=lambda choice: choice.name)

    def start_batch(self, by: str, fields: Mapping[str, Any]) -> str:  # noqa: ARG002
        """Start a batch."""
        return batches.start_batch(self._desk, asked(NewBatch, fields))[0].id

    def advance(self, batch_id: str, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Enter a stage, or end the batch."""
        batches.advance_batch(self._desk, batch_id, asked(Advance, fields))

    def undo(self, batch_id: str, by: str) -> None:  # noqa: ARG002
        """Take the last change back."""
        batches.undo(self._desk, batch_id)

    def _vessel_names(self) -> dict[str, str]:
        return {one.id: one.name for one in vessels.every_vessel(self._desk)}

    def _held_back(self, one: BatchAnswer, now: datetime) -> str:
        """In words until when the band alarms of a batch wait, else empty."""
        watch = self._desk.watch
        live = None if one.vessel_id is None else watch.house.batch_in(one.vessel_id, now)
        if one.vessel_id is None or live is None or live.row.id != one.id:
            return ""
        until = watch.bands_wait_until(one.vessel_id, now)
        if until is None:
            return ""
        return (
            f"alarms of the band wait until it is first reached, or until {self.taste().moment(until, now)}"
        )

    def _whole(self, one: BatchAnswer) -> Curves | None:
        """What the chart of the whole batch shows, or None where that cannot be drawn."""
        try:
            return curves_of(self._desk, one, None, None, BATCH_POINTS)
        except InvalidInputError:
            return None


def _finished(rows: Sequence[HourRow], part: timedelta, end: datetime) -> tuple[HourRow, ...]:
    """Without empty parts at the end that may still fill: what was measured in them is not kept yet."""
    kept = list(rows)
    while kept and kept[-1].mean_c is None and kept[-1].starts_at + part > end - UNKEPT:
        kept.pop()
    # an end that was silent before is told whole
    return tuple(rows) if kept and kept[-1].mean_c is None else tuple(kept)


def _rows(
    one: BatchAnswer, steps: Sequence[StageAnswer], now: datetime, held_back: str
) -> tuple[StageRow, ...]:
    """The steps as they were, then the stages of the plan that are still to come."""
    plan = plan_from_json(one.plan)
    by_key = {stage.key: stage for stage in plan.stages}
    rows = [
        StageRow(
            key=step.key,
            kind=step.kind,
            state="now" if step.left_at is None else "past",
            band=_band(by_key[step.key], step.entered_at, step.left_at or now),
            starts_at=step.entered_at,
            ends_at=step.left_at or _after(step.entered_at, step.lasts_s),
            note="" if step.left_at else held_back,
        )
        for step in steps
    ]
    keys = [stage.key for stage in plan.stages]
    if one.ended_at is not None or one.stage is None:
        return tuple(rows)
    begins = rows[-1].ends_at if rows else None
    for stage in plan.stages[keys.index(one.stage) + 1 :]:
        ends = None if begins is None else _after(begins, stage.lasts_s)
        band = _band(stage, begins or now, begins or now)
        rows.append(StageRow(stage.key, stage.kind.value, "planned", band, begins, ends))
        begins = ends
    return tuple(rows)


def _band(stage: Stage, entered_at: datetime, at: datetime) -> BandView:
    band = band_at(stage, entered_at, at)
    return BandView(band.target_c, band.low_c, band.high_c)


def _after(begins: datetime, lasts_s: float | None) -> datetime | None:
    return None if lasts_s is None else begins + timedelta(seconds=lasts_s)


def on_the_stove(one: BatchAnswer) -> bool:
    """Whether a batch is in the kettle, before any yeast is in it."""
    stage = None if one.stage is None or one.ended_at else plan_from_json(one.plan).stage(one.stage)
    return stage is not None and KINDS[stage.kind].kettle


def next_key(one: BatchAnswer) -> str | None:
    """The stage that can be entered by hand, or ``end``."""
    if one.stage is None or one.ended_at is not None:
        return None
    keys = [stage["key"] for stage in one.plan["stages"]]
    following = keys[keys.index(one.stage) + 1 :]
    return str(following[0]) if following else "end"
