"""A plan as the rehearsal takes it: stages in hours from pitching on, bands, and when a hand is wanted."""

from dataclasses import dataclass

from service.plans.band import Band, band_around
from service.plans.kinds import KINDS, StageKind
from service.plans.model import Ends, Plan, Ramp, Stage
from service.thermal.rehearsal import PlannedStage

USUAL_DAYS = {StageKind.PRIMARY: 10.0, StageKind.REST: 2.0, StageKind.CRASH: 2.0, StageKind.CONDITION: 14.0}
"""Where a plan gives no length: one to two weeks for an ale, two for bottles (common practice)."""

OTHER_DAYS = 1.0
MOST_H = 24 * 400.0


@dataclass(frozen=True, slots=True)
class Planned:
    """The stages outside the kettle, and the hours from pitching at which somebody must be there."""

    stages: tuple[PlannedStage, ...]
    hands_h: tuple[float, ...]

    @property
    def whole_h(self) -> float:
        """Hours from pitching to the end of the plan."""
        return self.stages[-1].to_h if self.stages else 0.0


def planned(plan: Plan) -> Planned:
    """A plan from its first stage outside the kettle on."""
    found: list[PlannedStage] = []
    hands: list[float] = [0.0]
    hour, bottled = 0.0, False
    for stage in plan.stages:
        if KINDS[stage.kind].kettle:
            continue
        lasts_h = (
            USUAL_DAYS.get(stage.kind, OTHER_DAYS) * 24 if stage.lasts_s is None else stage.lasts_s / 3600
        )
        ends = min(hour + lasts_h, MOST_H)
        bottled = bottled or stage.kind is StageKind.CONDITION
        found.append(_one(stage, hour, ends, not bottled))
        for prompt in stage.prompts:
            if prompt.at_s is not None:
                hands.append(hour + prompt.at_s / 3600)
            elif prompt.before_end_s is not None:
                hands.append(max(hour, ends - prompt.before_end_s / 3600))
        if stage.ends is not Ends.TIME:
            hands.append(ends)
        hour = ends
    return Planned(tuple(found), tuple(sorted(set(hands))))


def _one(stage: Stage, begins: float, ends: float, fermenting: bool) -> PlannedStage:
    target = stage.target_c
    first, last = (target.from_c, target.to_c) if isinstance(target, Ramp) else (target, target)
    over_h = target.over_s / 3600 if isinstance(target, Ramp) else 0.0
    at_first, at_last = band_around(stage, first), band_around(stage, last)
    moves = first != last and (_width(at_first, first) == _width(at_last, last))
    low, high = at_last.low_c, at_last.high_c
    if moves and last is not None:
        low, high = (None if edge is None else edge - last for edge in (low, high))
    return PlannedStage(
        key=stage.key,
        from_h=begins,
        to_h=ends,
        target_c=None if first is None or last is None else (first, last),
        over_h=over_h,
        low_c=low,
        high_c=high,
        relative=moves,
        fermenting=fermenting,
    )


def _width(band: Band, target: float | None) -> tuple[float | None, float | None]:
    """How far the band's ends lie from its target."""
    base = target or 0.0
    low, high = (None if edge is None else round(edge - base, 6) for edge in (band.low_c, band.high_c))
    return low, high
