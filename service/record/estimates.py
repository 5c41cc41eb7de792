"""Estimates of batches as they were made: the newest whole, earlier ones without what only forecasts need."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from service.record.tables import estimate

ONLY_FOR_FORECASTS = "thermal"


@dataclass(frozen=True, slots=True)
class KeptEstimate:
    """An estimate at a time, as its worker answered."""

    at: datetime
    body: Mapping[str, Any]


def keep_estimate(connection: Connection, batch_id: str, at: datetime, body: Mapping[str, Any]) -> None:
    """Store an estimate; one of the same time is replaced, and earlier ones are made small."""
    mine = estimate.c.batch_id == batch_id
    connection.execute(delete(estimate).where(mine, estimate.c.at == at))
    before = connection.execute(
        select(estimate.c.at, estimate.c.body)
        .where(mine, estimate.c.at < at)
        .order_by(estimate.c.at.desc())
        .limit(1)
    ).first()
    if before is not None and before.body.get(ONLY_FOR_FORECASTS) is not None:
        small = {**before.body, ONLY_FOR_FORECASTS: None}
        connection.execute(update(estimate).where(mine, estimate.c.at == before.at).values(body=small))
    connection.execute(insert(estimate).values(batch_id=batch_id, at=at, body=dict(body)))


def kept_estimates(
    connection: Connection, batch_id: str, since: datetime | None = None, limit: int = 1
) -> list[KeptEstimate]:
    """The newest estimates of a batch, newest first, none older than `since`."""
    query = select(estimate.c.at, estimate.c.body).where(estimate.c.batch_id == batch_id)
    if since is not None:
        query = query.where(estimate.c.at >= since)
    rows = connection.execute(query.order_by(estimate.c.at.desc()).limit(limit))
    return [KeptEstimate(*row) for row in rows]
