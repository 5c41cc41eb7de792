"""A batch's whole record as a document: its shape, and the JSON Schema that is published of it."""

from typing import Any, Literal

from pydantic import Field, create_model

from service.actions.answers import (
    AlarmWithTransitions,
    BatchAnswer,
    BatchStray,
    GapAnswer,
    PlaceAnswer,
    ProbeMark,
    StageAnswer,
)
from service.actions.entry_asks import ASKS
from service.actions.tasting_answers import FaultAnswer
from service.actions.wire import Answer, Ask, Instant

FORMAT = "gylewatch batch record"
VERSION = 1

COLUMNS = ("at", "mean_c", "min_c", "max_c", "count")


class VesselOfRecord(Answer):
    """A vessel the batch was in."""

    id: str
    name: str
    kind: str
    wall: str | None
    volume_l: float | None
    near: list[str]


class LineOfRecord(Answer):
    """A calibration: true = slope * raw + offset_c, from a time on."""

    from_: Instant = Field(serialization_alias="from")
    slope: float
    offset_c: float


class ProbeOfRecord(Answer):
    """A probe that told of the batch."""

    id: str
    label: str
    source: str
    mounting: str | None
    calibrations: list[LineOfRecord]


class MinutesOfRecord(Answer):
    """The minutes of a probe in a role at a vessel, oldest first, calibrated; a missing one is not there.

    A row has the minute's beginning, the mean, the lowest and the highest value in C, and of how many values.
    """

    probe_id: str
    role: str
    vessel_id: str
    columns: tuple[Literal["at"], Literal["mean_c"], Literal["min_c"], Literal["max_c"], Literal["count"]]
    rows: list[tuple[Instant, float, float, float, int]]


class RecordHead(Answer):
    """Everything but what people wrote down and the minutes."""

    format: Literal["gylewatch batch record"]
    version: Literal[1]
    made_at: Instant
    made_by: str
    timezone: str
    batch: BatchAnswer
    stages: list[StageAnswer]
    places: list[PlaceAnswer]
    vessels: list[VesselOfRecord]
    probes: list[ProbeOfRecord]
    alarms: list[AlarmWithTransitions]
    strays: list[BatchStray]
    gaps: list[GapAnswer]
    faults: list[FaultAnswer]
    probe_changes: list[ProbeMark]


def _entry_of(name: str, ask: type[Ask]) -> Any:
    members: dict[str, Any] = {"n": (int, ...), "at": (Instant, ...)}
    members |= {
        field: (info.rebuild_annotation() | None, ...)
        for field, info in ask.model_fields.items()
        if field != "at"
    }
    if name == "readings":
        members |= dict.fromkeys(("corrected_sg", "low", "high"), (float | None, ...))
        members["working"] = (dict[str, Any] | None, ...)
    if name == "openings":
        members |= dict.fromkeys(("corrected_sg", "low", "high", "fell_pt"), (float | None, ...))
        members |= {
            "fell": (bool | None, ...),
            "says": (str | None, ...),
            "cautions": (list[str], ...),
        }
    return create_model(f"{ask.__name__.removeprefix('New')}OfRecord", __base__=Answer, **members)


_LISTS: dict[str, Any] = {name: (list[_entry_of(name, ask)], ...) for name, ask in ASKS.items()}  # type: ignore[misc]

BatchRecord: type[RecordHead] = create_model(
    "BatchRecord",
    __base__=RecordHead,
    **_LISTS,
    minutes=(list[MinutesOfRecord], ...),
)
"""The whole document; what people wrote down by the names of its lists."""


def record_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of a batch's record."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **BatchRecord.model_json_schema(mode="serialization", by_alias=True),
        "title": FORMAT,
        "description": "The record of one batch of beer, from its first stage to its last.",
    }
