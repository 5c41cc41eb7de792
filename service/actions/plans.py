"""Plans: store, read, replace, delete."""

from typing import Any

from sqlalchemy import Connection

from service.actions.answers import PlanAnswer
from service.actions.desk import Desk, short_id
from service.plans.reading import plan_from_json, plan_to_json
from service.record import batches as stored

RESERVED_IDS = {"rehearse"}


def every_plan(desk: Desk) -> list[tuple[PlanAnswer, int]]:
    """Every stored plan with its version, newest first."""
    with desk.record.reading() as connection:
        return [_answer(row) for row in stored.plans(connection)]


def one_plan(desk: Desk, plan_id: str) -> tuple[PlanAnswer, int]:
    """One stored plan with its version."""
    with desk.record.reading() as connection:
        return _answer(stored.plan_by_id(connection, plan_id))


def make_plan(desk: Desk, body: object) -> tuple[PlanAnswer, int]:
    """Store a new plan; InvalidInputError names stage and field."""
    plan = plan_from_json(body)
    now = desk.now()

    def work(connection: Connection) -> str:
        plan_id = short_id(plan.name, stored.plan_ids(connection) | RESERVED_IDS, "plan")
        stored.add_plan(connection, plan_id, plan_to_json(plan), now)
        return plan_id

    return one_plan(desk, desk.record.write(work))


def replace_plan(desk: Desk, plan_id: str, body: object, expected: int | None) -> tuple[PlanAnswer, int]:
    """Replace a plan; batches made from it keep their copies."""
    plan = plan_from_json(body)
    desk.record.write(lambda c: stored.put_plan(c, plan_id, plan_to_json(plan), desk.now(), expected))
    return one_plan(desk, plan_id)


def delete_plan(desk: Desk, plan_id: str, expected: int | None) -> None:
    """Delete a plan."""
    desk.record.write(lambda c: stored.remove_plan(c, plan_id, expected))


def _answer(row: dict[str, Any]) -> tuple[PlanAnswer, int]:
    answer = PlanAnswer(
        id=row["id"],
        name=row["name"],
        stages=list(row["body"]["stages"]),
        created_at=row["created_at"],
        changed_at=row["changed_at"],
    )
    return answer, int(row["version"])
