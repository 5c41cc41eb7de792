"""Plans on the running service."""

from collections.abc import Mapping, Sequence
from typing import Any

from service.actions import plans
from service.actions.answers import PlanAnswer
from service.actions.desk import Desk
from web.pages.plans import PlanView


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

    def change_plan(self, plan_id: str, by: str, plan: Mapping[str, Any], version: str) -> None:  # noqa: ARG002
        """Replace a plan, unless it was changed since this version."""
        expected = int(version) if version.isdigit() else -1
        plans.replace_plan(self._desk, plan_id, dict(plan), expected)


def _view(one: PlanAnswer, version: int) -> PlanView:
    return PlanView(one.id, one.name, tuple(one.stages), str(version))
