"""What direct readings make of a batch: attenuation, alcohol, and how the estimates stood to them."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from service.actions.insight_answers import EstimateAgainst, MeasuredAnswer
from service.brewing.alcohol import alcohol
from service.errors import InvalidInputError
from service.record.estimates import kept_estimates

EVERY = 100_000


def measured(og: float | None, readings: Sequence[Mapping[str, Any]]) -> MeasuredAnswer | None:
    """Of the last reading of the beer (newest first), or None without one."""
    last = next((r for r in readings if r["by"] != "limit-jar" and r["corrected_sg"] is not None), None)
    if last is None:
        return None
    found = None
    if og is not None:
        try:
            found = alcohol(og=og, fg=last["corrected_sg"])
        except InvalidInputError:
            found = None
    return MeasuredAnswer(
        at=datetime.fromisoformat(last["at"]),
        sg=round(last["corrected_sg"], 5),
        apparent_attenuation_percent=None if found is None else round(found.apparent_attenuation_percent, 1),
        alcohol_by_volume_percent=None if found is None else round(found.alcohol_by_volume_percent, 2),
    )


def estimates_against(
    connection: Connection, batch_id: str, pitched: datetime | None, readings: Sequence[Mapping[str, Any]]
) -> list[EstimateAgainst]:
    """For each direct reading since pitching, oldest first: the last gravity that was estimated before it."""
    if pitched is None:
        return []
    kept = kept_estimates(connection, batch_id, None, EVERY)
    found = []
    for one in sorted(readings, key=lambda r: str(r["at"])):
        at = datetime.fromisoformat(one["at"])
        if one["by"] == "limit-jar" or one["corrected_sg"] is None or at <= pitched:
            continue
        before = next((k for k in kept if k.at < at and k.body.get("gravity") is not None), None)
        if before is None:
            continue
        said = before.body["gravity"]
        found.append(
            EstimateAgainst(
                n=one["n"],
                at=at,
                sg=round(one["corrected_sg"], 5),
                estimated_at=before.at,
                estimated_sg=round(said["value"], 5),
                low=round(said["low"], 5),
                high=round(said["high"], 5),
                off_pt=round(1000 * (said["value"] - one["corrected_sg"]), 2),
                inside=said["low"] <= one["corrected_sg"] <= said["high"],
            )
        )
    return found
