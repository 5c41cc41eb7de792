"""Batches: start, read, take through the plan, move, undo."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from sqlalchemy import Connection

from service.actions.answers import BatchAnswer, DueAnswer, PlaceAnswer, StageAnswer
from service.actions.asks import Advance, BatchChange, NewBatch, NewPlace, PlaceChange, StageChange
from service.actions.desk import Desk, changes_of, not_ahead, short_id
from service.errors import ConflictError, InvalidInputError, NotFoundError, Problem
from service.plans import course as courses
from service.plans.course import Course, CourseState
from service.plans.dues import ShareReached
from service.plans.model import Plan
from service.plans.places import Place, close, leave, move, reopen
from service.plans.reading import plan_from_json, plan_to_json
from service.record import batches as stored
from service.record.facts import Batch, PlacedFor
from service.record.vessels import vessel_by_id
from service.watch.house import LiveBatch, live_batch


def every_batch(desk: Desk, state: str | None = None) -> list[tuple[BatchAnswer, int]]:
    """Every batch with its version, newest first."""
    with desk.record.reading() as connection:
        found = stored.batches(connection, None if state is None else (state,))
    return [(_answer(desk, row), row.version) for row in found]


def one_batch(desk: Desk, batch_id: str) -> tuple[BatchAnswer, int]:
    """One batch with its version."""
    with desk.record.reading() as connection:
        row = stored.batch_by_id(connection, batch_id)
    return _answer(desk, row), row.version


def _answer(desk: Desk, row: Batch) -> BatchAnswer:
    return batch_answer(live_batch(row), desk.now(), desk.watch.insight_of(row.id).share_reached)


def start_batch(desk: Desk, ask: NewBatch) -> tuple[BatchAnswer, int]:
    """Start a batch in the first stage of its plan; a past start is taken through stages that end by time."""
    now = desk.now()
    if (ask.plan is None) == (ask.plan_id is None):
        raise InvalidInputError(
            Problem(
                "/plan",
                "give exactly one of plan and plan_id",
                "Send a whole plan, or the id of a stored one.",
            )
        )
    started_at = not_ahead(ask.started_at or now, now, "/started_at")
    if ask.og is not None and ask.expected_fg is not None and ask.expected_fg >= ask.og:
        raise InvalidInputError(Problem("/expected_fg", "is not below og", "Check both gravities."))

    def work(connection: Connection) -> str:
        vessel = vessel_by_id(connection, ask.vessel_id)
        plan = _plan_asked(connection, ask)
        for other in stored.batches(connection, ("running",)):
            if any(p.vessel_id == vessel.id and p.to_at is None for p in other.places):
                raise ConflictError(
                    f"The batch {other.name!r} ({other.id}) is running in {vessel.name!r}. "
                    "End it or move it first, or take another vessel."
                )
        course = courses.begin(plan, started_at, now, ask.pitched_at)
        batch_id = short_id(
            f"{ask.name[:29]}-{started_at.astimezone(desk.zone):%Y-%m-%d}",
            stored.batch_ids(connection),
            "batch",
        )
        places: tuple[Place, ...] = (Place(vessel.id, started_at),)
        if course.ended_at is not None:
            places = close(places, course.ended_at)
        stored.add_batch(
            connection,
            Batch(
                id=batch_id,
                name=ask.name,
                plan_id=ask.plan_id,
                plan=plan_to_json(plan),
                course=courses.course_to_json(course),
                state=course.state.value,
                volume_l=ask.volume_l if ask.volume_l is not None else vessel.volume_l,
                og=ask.og,
                expected_fg=ask.expected_fg,
                yeast=None if ask.yeast is None else ask.yeast.model_dump(),
                started_at=started_at,
                version=1,
                created_at=now,
                places=tuple(PlacedFor(n, p.vessel_id, p.from_at, p.to_at) for n, p in enumerate(places, 1)),
            ),
        )
        return batch_id

    batch_id = desk.record.write(work)
    desk.watch.reload()
    return one_batch(desk, batch_id)


def _plan_asked(connection: Connection, ask: NewBatch) -> Plan:
    if ask.plan_id is not None:
        return plan_from_json(stored.plan_by_id(connection, ask.plan_id)["body"])
    try:
        return plan_from_json(ask.plan)
    except InvalidInputError as wrong:
        raise InvalidInputError(*(replace(p, field="/plan" + p.field) for p in wrong.problems)) from None


def alter_batch(desk: Desk, batch_id: str, ask: BatchChange, expected: int | None) -> tuple[BatchAnswer, int]:
    """Change what is known of a batch."""
    changes = changes_of(ask, ("name",))
    if isinstance(ask.yeast, object) and "yeast" in changes and ask.yeast is not None:
        changes["yeast"] = ask.yeast.model_dump()

    def work(connection: Connection) -> None:
        row = stored.batch_by_id(connection, batch_id)
        stored.refuse_stale(f"The batch {batch_id}", row.version, expected)
        stored.change_batch(connection, batch_id, changes)

    desk.record.write(work)
    desk.watch.reload()
    return one_batch(desk, batch_id)


def advance_batch(
    desk: Desk, batch_id: str, ask: Advance, expected: int | None = None
) -> tuple[BatchAnswer, int]:
    """Take a batch into another stage, or to its end, now or at a past time."""
    now = desk.now()
    at = ask.at or now

    def change(live: LiveBatch) -> Course:
        return courses.advance(live.plan, live.course, ask.to, at, now)

    return _change_course(desk, batch_id, f"advance to {ask.to}", change, expected)


def amend_stage(desk: Desk, batch_id: str, n: int, ask: StageChange) -> tuple[BatchAnswer, int]:
    """Give a stage that was entered another time, or a stage that runs another length."""
    now = desk.now()

    def change(live: LiveBatch) -> Course:
        return courses.amend(
            live.plan,
            live.course,
            n,
            entered_at=ask.entered_at,
            left_at=ask.left_at,
            lasts_s=ask.lasts_s,
            now=now,
        )

    return _change_course(desk, batch_id, f"amend stage {n}", change, None)


def _change_course(
    desk: Desk, batch_id: str, what: str, change: Callable[[LiveBatch], Course], expected: int | None
) -> tuple[BatchAnswer, int]:
    now = desk.now()

    def work(connection: Connection) -> None:
        row = stored.batch_by_id(connection, batch_id)
        stored.refuse_stale(f"The batch {batch_id}", row.version, expected)
        course = change(live_batch(row))
        stored.remember_change(connection, row, what, now)
        stored.change_batch(
            connection, batch_id, {"course": courses.course_to_json(course), "state": course.state.value}
        )
        if course.state is CourseState.ENDED and course.ended_at is not None:
            _put(connection, row, close(_places(row), course.ended_at))
        elif row.state == CourseState.ENDED:
            _put(connection, row, reopen(_places(row)))
            _refuse_without_place(connection, batch_id)

    desk.record.write(work)
    desk.watch.reload()
    answer = one_batch(desk, batch_id)
    desk.watch.tell_stage(batch_id, answer[0].stage)
    return answer


def _put(connection: Connection, row: Batch, places: tuple[Place, ...]) -> None:
    stored.put_places(connection, row.id, [(p.vessel_id, p.from_at, p.to_at) for p in places])


def _refuse_without_place(connection: Connection, batch_id: str) -> None:
    """ConflictError when the vessel of a batch that goes on again is gone, or taken by a running one."""
    row = stored.batch_by_id(connection, batch_id)
    for here in (p.vessel_id for p in row.places if p.to_at is None):
        try:
            vessel_by_id(connection, here)
        except NotFoundError:
            raise ConflictError(f"This cannot be done: the vessel {here} was taken away meanwhile.") from None
        other = stored.occupant(connection, here, batch_id)
        if other is not None and other.state == "running":
            raise ConflictError(
                f"This cannot be done: the batch {other.name!r} is in its vessel now. Move that one first."
            )


def undo(desk: Desk, batch_id: str) -> tuple[BatchAnswer, int]:
    """Take a batch's last change back. Refused when its vessel has been taken by another meanwhile."""
    now = desk.now()

    def work(connection: Connection) -> None:
        stored.batch_by_id(connection, batch_id)
        stored.take_back(connection, batch_id, now)
        _refuse_without_place(connection, batch_id)

    desk.record.write(work)
    desk.watch.reload()
    answer = one_batch(desk, batch_id)
    desk.watch.tell_stage(batch_id, answer[0].stage)
    return answer


def move_batch(desk: Desk, batch_id: str, ask: NewPlace) -> tuple[BatchAnswer, int]:
    """Move a batch into another vessel, now or at a past time."""
    now = desk.now()
    at = ask.from_ or now

    def work(connection: Connection) -> None:
        row = stored.batch_by_id(connection, batch_id)
        vessel_by_id(connection, ask.vessel_id)
        for other in stored.batches(connection, ("running",)):
            if other.id != batch_id and any(
                p.vessel_id == ask.vessel_id and p.to_at is None for p in other.places
            ):
                raise ConflictError(f"The batch {other.name!r} is running in {ask.vessel_id}. Move it first.")
        places = move(_places(row), ask.vessel_id, at, now, also=ask.also, leaves=ask.leaves)
        what = "a part moved to" if ask.also else "move to"
        stored.remember_change(connection, row, f"{what} {ask.vessel_id}", now)
        stored.put_places(connection, row.id, [(p.vessel_id, p.from_at, p.to_at) for p in places])
        stored.change_batch(connection, batch_id, {})

    desk.record.write(work)
    desk.watch.reload()
    return one_batch(desk, batch_id)


def leave_place(desk: Desk, batch_id: str, n: int, ask: PlaceChange) -> tuple[BatchAnswer, int]:
    """One of several vessels of a batch is empty; the rest of it stays where it is."""
    now = desk.now()

    def work(connection: Connection) -> None:
        row = stored.batch_by_id(connection, batch_id)
        place = next((p for p in row.places if p.n == n), None)
        if place is None:
            raise NotFoundError(f"The batch {batch_id!r} has no place {n}.")
        places = leave(_places(row), place.vessel_id, ask.to or now, now)
        stored.remember_change(connection, row, f"out of {place.vessel_id}", now)
        _put(connection, row, places)
        stored.change_batch(connection, batch_id, {})

    desk.record.write(work)
    desk.watch.reload()
    return one_batch(desk, batch_id)


def _places(row: Batch) -> tuple[Place, ...]:
    return tuple(Place(p.vessel_id, p.from_at, p.to_at) for p in row.places)


def stages_of(desk: Desk, batch_id: str) -> list[StageAnswer]:
    """The steps of a batch, newest first."""
    with desk.record.reading() as connection:
        live = live_batch(stored.batch_by_id(connection, batch_id))
    return [
        StageAnswer(
            n=step.n,
            key=step.stage_key,
            kind=courses.stage_of(live.plan, step).kind.value,
            entered_at=step.entered_at,
            left_at=step.left_at,
            lasts_s=step.lasts_s,
            how=step.how.value,
        )
        for step in reversed(live.course.steps)
    ]


def places_of(desk: Desk, batch_id: str) -> list[PlaceAnswer]:
    """The places of a batch, newest first."""
    with desk.record.reading() as connection:
        row = stored.batch_by_id(connection, batch_id)
    return [_place(p) for p in reversed(row.places)]


def _place(placed: PlacedFor) -> PlaceAnswer:
    return PlaceAnswer(n=placed.n, vessel_id=placed.vessel_id, from_=placed.from_at, to=placed.to_at)


def batch_answer(live: LiveBatch, now: datetime, reached: ShareReached | None = None) -> BatchAnswer:
    """A batch in the shape of the HTTP contract."""
    row, plan = live.row, live.plan
    course = courses.elapse(plan, live.course, now)
    step = courses.current(course)
    here = next((p.vessel_id for p in row.places if p.to_at is None), None)
    return BatchAnswer(
        id=row.id,
        name=row.name,
        state=course.state.value,
        vessel_id=here,
        plan_id=row.plan_id,
        plan=dict(row.plan),
        stage=None if step is None else step.stage_key,
        stage_entered_at=None if step is None else step.entered_at,
        stage_due_at=None if step is None else step.due_at,
        volume_l=row.volume_l,
        og=row.og,
        expected_fg=row.expected_fg,
        yeast=None if row.yeast is None else dict(row.yeast),
        started_at=row.started_at,
        pitched_at=course.pitched_at,
        ended_at=course.ended_at,
        places=[_place(p) for p in reversed(row.places)],
        due=[
            DueAnswer(kind=due.kind.value, stage=due.stage, say=due.say, at=due.at)
            for due in courses.dues(plan, course, now, reached=reached)
        ],
    )
