"""A batch at the stove, on the running service."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from service.actions import batches
from service.actions.asks import StageChange
from service.actions.chill_times import ChillAnswer, chill_times
from service.actions.desk import Desk
from service.errors import ConflictError
from service.plans.kinds import StageKind
from service.plans.model import Stage
from service.plans.reading import plan_from_json
from web.pages.stove import Chill, ColdAt, StoveView
from web.said import said
from web.served.brews import next_key, on_the_stove
from web.served.questions import questions_of
from web.views import StageView, TimedWords, VesselView
from web.words import Taste

CHILLED = (StageKind.CHILL, StageKind.STEEP, StageKind.STAND, StageKind.HOLD)


class StovePart:
    """What the page of the stove asks."""

    _desk: Desk

    def taste(self) -> Taste:
        """How this brewer wants values written."""
        raise NotImplementedError

    def vessels_now(self) -> Sequence[VesselView]:
        """Every vessel as it is now."""
        raise NotImplementedError

    def stove(self, batch_id: str) -> StoveView:
        """A batch at the stove."""
        one, _ = batches.one_batch(self._desk, batch_id)
        steps = len(batches.stages_of(self._desk, batch_id))
        vessel = next((v for v in self.vessels_now() if v.batch_id == batch_id), None)
        stage = None if one.stage is None else plan_from_json(one.plan).stage(one.stage)
        here = None
        if stage is not None and one.stage_entered_at is not None:
            here = StageView(stage.key, stage.kind.value, one.stage_entered_at, one.stage_due_at)
        return StoveView(
            id=one.id,
            name=one.name,
            on_the_stove=on_the_stove(one),
            stage=here,
            vessel=vessel,
            due=tuple(TimedWords(due.at, due.say) for due in one.due),
            ahead=_ahead(stage, here, self._desk.now()),
            next_key=next_key(one),
            undo="the last change" if steps > 1 or one.ended_at is not None else None,
            questions=questions_of(self._desk, batch_id),
            chill=_chill(chill_times(self._desk, batch_id, None, None), self.taste())
            if stage is not None and stage.kind in CHILLED and on_the_stove(one)
            else None,
        )

    def prolong(self, batch_id: str, by: str, minutes: int) -> None:  # noqa: ARG002
        """Let the stage last longer; one that is over its time from now on."""
        step = batches.stages_of(self._desk, batch_id)[0]
        one, _ = batches.one_batch(self._desk, batch_id)
        if one.stage is None or one.stage_due_at is None or one.stage_entered_at is None:
            raise ConflictError("No stage with an end is under way.")
        until = max(one.stage_due_at, self._desk.now()) + timedelta(minutes=minutes)
        lasts_s = (until - one.stage_entered_at).total_seconds()
        batches.amend_stage(self._desk, batch_id, step.n, StageChange(lasts_s=lasts_s))


def _chill(found: ChillAnswer, taste: Taste) -> Chill:
    return Chill(
        said(found.sentence, taste),
        tuple(ColdAt(t.stage, t.temp_c, t.at, t.low, t.high, t.ice_kg) for t in found.targets),
    )


def _ahead(stage: Stage | None, here: StageView | None, now: datetime) -> tuple[TimedWords, ...]:
    """What the stage will still ask for, soonest first."""
    if stage is None or here is None:
        return ()
    found = []
    for prompt in stage.prompts:
        if prompt.at_s is not None:
            at = here.entered_at + timedelta(seconds=prompt.at_s)
        elif prompt.before_end_s is not None and here.ends_at is not None:
            at = here.ends_at - timedelta(seconds=prompt.before_end_s)
        else:
            continue
        if at > now:
            found.append(TimedWords(at, prompt.say))
    return tuple(sorted(found, key=lambda one: one.at))
