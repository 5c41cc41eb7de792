"""Plans as JSON: read with every mistake named at once, and written with every default filled in."""

from collections.abc import Mapping

from service.errors import InvalidInputError, Problem
from service.plans.bounds import LONGEST_NAME, MOST_STAGES
from service.plans.members import Members, said
from service.plans.model import Plan
from service.plans.schema import PLAN_MEMBERS, plan_schema
from service.plans.stage_reading import stage_from_json, stage_to_json

__all__ = ["plan_from_json", "plan_schema", "plan_to_json"]


def plan_from_json(body: object) -> Plan:
    """The plan that a JSON value describes. Absent or null members take the default of the stage's kind.

    InvalidInputError: everything wrong with it, each problem with a JSON pointer, the stage and a remedy.
    """
    if not isinstance(body, Mapping):
        raise InvalidInputError(Problem("", f"a plan is an object, not {said(body)}", "give name and stages"))
    problems: list[Problem] = []
    members = Members(body, "", "plan", problems)
    members.only(PLAN_MEMBERS)
    members.need("name", "give the plan a name")
    name = members.text("name", LONGEST_NAME)
    entries = members.items("stages", MOST_STAGES)
    if not entries and not any(problem.field == "/stages" for problem in problems):
        members.refuse("stages", "there are no stages", "give at least one stage")
    stages = [stage_from_json(entry, i, problems) for i, entry in enumerate(entries)]
    _refuse_repeated_keys(entries, members)
    if problems or name is None:
        raise InvalidInputError(*problems)
    return Plan(name, tuple(stage for stage in stages if stage is not None))


def plan_to_json(plan: Plan) -> dict[str, object]:
    """The plan as JSON values, every member there; `plan_from_json` makes the same plan of it."""
    return {"name": plan.name, "stages": [stage_to_json(stage) for stage in plan.stages]}


def _refuse_repeated_keys(entries: list[object], members: Members) -> None:
    first: dict[str, int] = {}
    for i, entry in enumerate(entries):
        key = entry.get("key") if isinstance(entry, Mapping) else None
        if not isinstance(key, str):
            continue
        if key in first:
            members.refuse(
                f"stages/{i}/key",
                f"stage {i + 1} has the key {said(key)}, as stage {first[key] + 1} has",
                f"give each stage a key of its own, as {said(f'{key}-2')}",
            )
        first.setdefault(key, i)
