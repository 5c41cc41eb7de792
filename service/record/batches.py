"""Plans and batches: a batch carries its own copy of the plan, its course and its places."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from service.errors import ConflictError, NotFoundError, StaleError
from service.record.facts import Batch, PlacedFor
from service.record.tables import batch, batch_change, place, plan


def plans(connection: Connection) -> list[dict[str, Any]]:
    """Every stored plan, newest first: id, name, body, version, created_at, changed_at."""
    rows = connection.execute(select(plan).order_by(plan.c.created_at.desc(), plan.c.id))
    return [dict(row._mapping) for row in rows]


def plan_by_id(connection: Connection, plan_id: str) -> dict[str, Any]:
    """One stored plan; NotFoundError when there is none."""
    row = connection.execute(select(plan).where(plan.c.id == plan_id)).first()
    if row is None:
        raise NotFoundError(f"There is no plan {plan_id!r}.")
    return dict(row._mapping)


def plan_ids(connection: Connection) -> set[str]:
    """Every id of a stored plan."""
    return {row[0] for row in connection.execute(select(plan.c.id))}


def add_plan(connection: Connection, plan_id: str, body: Mapping[str, Any], now: datetime) -> None:
    """Store a new plan."""
    connection.execute(
        insert(plan).values(
            id=plan_id, name=body["name"], body=body, version=1, created_at=now, changed_at=now
        )
    )


def put_plan(
    connection: Connection, plan_id: str, body: Mapping[str, Any], now: datetime, expected: int | None
) -> int:
    """Replace a plan; returns its new version. StaleError when its version is not the expected one."""
    stored = plan_by_id(connection, plan_id)
    refuse_stale(f"The plan {plan_id}", stored["version"], expected)
    version = int(stored["version"]) + 1
    connection.execute(
        update(plan)
        .where(plan.c.id == plan_id)
        .values(name=body["name"], body=body, version=version, changed_at=now)
    )
    return version


def remove_plan(connection: Connection, plan_id: str, expected: int | None) -> None:
    """Delete a plan; batches keep their own copies."""
    refuse_stale(f"The plan {plan_id}", plan_by_id(connection, plan_id)["version"], expected)
    connection.execute(delete(plan).where(plan.c.id == plan_id))


def refuse_stale(what: str, version: int, expected: int | None) -> None:
    """StaleError when a caller saw another version than the present one."""
    if expected is not None and expected != version:
        raise StaleError(f"{what} was changed in the meantime. Read it again and repeat your change.")


def batches(connection: Connection, states: Sequence[str] | None = None) -> list[Batch]:
    """Batches, newest first; only those in one of `states` when given."""
    query = select(batch).order_by(batch.c.started_at.desc(), batch.c.id)
    if states is not None:
        query = query.where(batch.c.state.in_(states))
    rows = connection.execute(query).all()
    places = _places(connection, [row.id for row in rows])
    return [_batch(row._mapping, places.get(row.id, ())) for row in rows]


def batch_by_id(connection: Connection, batch_id: str) -> Batch:
    """One batch; NotFoundError when there is none."""
    row = connection.execute(select(batch).where(batch.c.id == batch_id)).first()
    if row is None:
        raise NotFoundError(f"There is no batch {batch_id!r}.")
    return _batch(row._mapping, _places(connection, [batch_id]).get(batch_id, ()))


def occupant(connection: Connection, vessel_id: str, besides: str | None = None) -> Batch | None:
    """The unfinished batch that is in a vessel now, other than `besides`; a running one first."""
    found = [
        one
        for state in ("running", "conditioning")
        for one in batches(connection, (state,))
        if one.id != besides and any(p.vessel_id == vessel_id and p.to_at is None for p in one.places)
    ]
    return found[0] if found else None


def batch_ids(connection: Connection) -> set[str]:
    """Every id of a batch."""
    return {row[0] for row in connection.execute(select(batch.c.id))}


def _places(connection: Connection, ids: Sequence[str]) -> dict[str, tuple[PlacedFor, ...]]:
    found: dict[str, tuple[PlacedFor, ...]] = {}
    rows = connection.execute(
        select(place).where(place.c.batch_id.in_(ids)).order_by(place.c.batch_id, place.c.n)
    )
    for row in rows:
        found[row.batch_id] = (
            *found.get(row.batch_id, ()),
            PlacedFor(row.n, row.vessel_id, row.from_at, row.to_at),
        )
    return found


def _batch(row: Mapping[Any, Any], places: tuple[PlacedFor, ...]) -> Batch:
    return Batch(
        id=row["id"],
        name=row["name"],
        plan_id=row["plan_id"],
        plan=row["plan"],
        course=row["course"],
        state=row["state"],
        volume_l=row["volume_l"],
        og=row["og"],
        expected_fg=row["expected_fg"],
        yeast=row["yeast"],
        started_at=row["started_at"],
        version=row["version"],
        created_at=row["created_at"],
        places=places,
    )


def add_batch(connection: Connection, new: Batch) -> None:
    """Store a new batch with its places."""
    connection.execute(
        insert(batch).values(
            id=new.id,
            name=new.name,
            plan_id=new.plan_id,
            plan=new.plan,
            course=new.course,
            state=new.state,
            volume_l=new.volume_l,
            og=new.og,
            expected_fg=new.expected_fg,
            yeast=new.yeast,
            started_at=new.started_at,
            version=new.version,
            created_at=new.created_at,
        )
    )
    _store_places(connection, new.id, new.places)


def change_batch(connection: Connection, batch_id: str, changes: Mapping[str, Any]) -> None:
    """Change columns of a batch and count its version up."""
    connection.execute(
        update(batch).where(batch.c.id == batch_id).values(version=batch.c.version + 1, **changes)
    )


def remember_change(
    connection: Connection, stored: Batch, what: str, now: datetime, also: Mapping[str, Any] | None = None
) -> None:
    """Keep how a batch was before a change, so that the change can be taken back."""
    before = {
        "course": dict(stored.course),
        "state": stored.state,
        "places": [
            [p.vessel_id, p.from_at.isoformat(), None if p.to_at is None else p.to_at.isoformat()]
            for p in stored.places
        ],
        **(also or {}),
    }
    connection.execute(insert(batch_change).values(batch_id=stored.id, at=now, what=what, before=before))


def take_back(connection: Connection, batch_id: str, now: datetime) -> str:
    """Undo a batch's last change; returns what it was. ConflictError when there is nothing to undo."""
    row = connection.execute(
        select(batch_change)
        .where(batch_change.c.batch_id == batch_id, batch_change.c.undone_at.is_(None))
        .order_by(batch_change.c.id.desc())
        .limit(1)
    ).first()
    if row is None:
        raise ConflictError("There is no change left to take back.")
    before = row.before
    change_batch(connection, batch_id, {"course": before["course"], "state": before["state"]})
    put_places(
        connection,
        batch_id,
        [
            (
                vessel_id,
                datetime.fromisoformat(from_at),
                None if to_at is None else datetime.fromisoformat(to_at),
            )
            for vessel_id, from_at, to_at in before["places"]
        ],
    )
    connection.execute(update(batch_change).where(batch_change.c.id == row.id).values(undone_at=now))
    return str(row.what)


def put_places(
    connection: Connection, batch_id: str, places: Sequence[tuple[str, datetime, datetime | None]]
) -> None:
    """Replace a batch's places."""
    connection.execute(delete(place).where(place.c.batch_id == batch_id))
    _store_places(
        connection,
        batch_id,
        [PlacedFor(n, vessel_id, from_at, to_at) for n, (vessel_id, from_at, to_at) in enumerate(places, 1)],
    )


def _store_places(connection: Connection, batch_id: str, places: Sequence[PlacedFor]) -> None:
    if places:
        connection.execute(
            insert(place),
            [
                {
                    "batch_id": batch_id,
                    "n": p.n,
                    "vessel_id": p.vessel_id,
                    "from_at": p.from_at,
                    "to_at": p.to_at,
                }
                for p in places
            ],
        )
