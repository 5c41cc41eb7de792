"""Plans on the running service."""

from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any

from service.actions import plans
from service.actions.answers import PlanAnswer
from service.actions.desk import Desk
from service.actions.rehearsal import rehearse_plan
from service.actions.rehearsal_asks import Rehearse
from web.pages.plans import PlanView
from web.rehearsing import RehearsalView, StageSpan, StrayView
from web.served.asked import asked
from web.views import AheadPoint

BREW_DAY = "brew-day"


class PlansPart:
    """What the pages of plans ask."""

    _desk: Desk

    def plans_stored(self) -> Sequence[PlanView]:
        """Every plan, by name."""
        found = [_view(*one) for one in plans.every_plan(self._desk)]
        return sorted(found, key=lambda plan: plan.name)

    def plan(self, plan_id: str) -> PlanView:
        """One plan."""
        return _view(*plans.one_plan(self._desk, plan_id))

    def add_plan(self, by: str, plan: Mapping[str, Any]) -> str:  # noqa: ARG002
        """Store a plan."""
        return plans.make_plan(self._desk, dict(plan))[0].id

    def rehearse(self, fields: Mapping[str, Any]) -> RehearsalView:
        """Run a plan in a place; nothing is kept."""
        found = rehearse_plan(self._desk, asked(Rehearse, fields))
        return RehearsalView(
            points=[
                AheadPoint(p.at, p.temp_c, p.low90_c, p.high90_c, p.low_c, p.high_c) for p in found.points
            ],
            stages=[
                StageSpan(key or "", run[0].at, run[-1].at)
                for key, run in ((k, list(g)) for k, g in groupby(found.points, key=lambda p: p.stage))
            ],
            strays=[StrayView(s.from_, s.to, s.side, s.worst_c, s.stage) for s in found.strays],
            unreachable=[(one.stage, one.why) for one in found.unreachable],
            advice=[a.sentence for a in found.advice if a.kind != BREW_DAY],
            days=[a.sentence for a in found.advice if a.kind == BREW_DAY],
        )

    def change_plan(self, plan_id: str, by: str, plan: Mapping[str, Any], version: str) -> None:  # noqa: ARG002
        """Replace a plan, unless it was changed since this version."""
        expected = int(version) if version.isdigit() else -1
        plans.replace_plan(self._desk, plan_id, dict(plan), expected)


def _view(one: PlanAnswer, version: int) -> PlanView:
    return PlanView(one.id, one.name, tuple(one.stages), str(version))
