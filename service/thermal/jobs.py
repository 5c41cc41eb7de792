"""The JSON of an estimate's job and answer: plain dictionaries to and from the dataclasses.

A job is `{"kind": "estimate", "input": {...}}`. Times are RFC 3339 with an offset; a trace is
`{"start", "minutes": [...], "temp_c": [...]}`; every other member has the name it has in `inputs`.
"""

from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, datetime
from enum import Enum
from typing import Any, TypeVar

from service.errors import InvalidInputError, Problem
from service.thermal.inputs import (
    Addition,
    EstimateInput,
    GravityReading,
    Mounting,
    Near,
    ReadBy,
    Sighting,
    Span,
    Switch,
    Trace,
    VesselPrior,
    YeastRange,
)
from service.thermal.results import (
    Estimate,
    FitFacts,
    Ranged,
    RangedTime,
    ThermalFacts,
    Verdict,
    Weights,
)

Json = Any
T = TypeVar("T")


def to_json(value: object) -> Json:
    """Dataclasses, enums, tuples and aware times as JSON values; times as UTC with Z."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: to_json(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, list | tuple):
        return [to_json(v) for v in value]
    return value


def _time(value: Json, where: str) -> datetime:
    try:
        moment = datetime.fromisoformat(value)
    except (TypeError, ValueError):
        raise InvalidInputError(Problem(where, "is no time", "Give an RFC 3339 time.")) from None
    if moment.tzinfo is None:
        raise InvalidInputError(Problem(where, "has no offset", "Give the offset, or Z for UTC."))
    return moment


def _trace(value: Json, where: str) -> Trace | None:
    if value is None:
        return None
    try:
        minutes, temps = tuple(map(float, value["minutes"])), tuple(map(float, value["temp_c"]))
    except (TypeError, ValueError, KeyError):
        raise InvalidInputError(
            Problem(where, "is no trace", "Give minutes and temp_c as numbers.")
        ) from None
    if len(minutes) != len(temps):
        raise InvalidInputError(Problem(where, "has unequal columns", "Give one temperature a minute."))
    return Trace(_time(value.get("start"), f"{where}/start"), minutes, temps)


def _each(value: Json, where: str, make: Callable[[Mapping[str, Json], str], T]) -> tuple[T, ...]:
    out = []
    for k, entry in enumerate(value or ()):
        try:
            out.append(make(entry, f"{where}/{k}"))
        except (KeyError, TypeError, ValueError, AttributeError) as wrong:
            raise InvalidInputError(Problem(f"{where}/{k}", f"cannot be read ({wrong})")) from None
    return tuple(out)


def estimate_input(data: Mapping[str, Json]) -> EstimateInput:
    """The input of an estimate. Raises InvalidInputError naming the member that is wrong."""
    known = {f.name for f in fields(EstimateInput)}
    strange = [name for name in data if name not in known]
    if strange:
        raise InvalidInputError(*(Problem(f"/{name}", "is not known") for name in strange))
    pitched = data.get("pitched_at")
    yeast, vessel = data.get("yeast"), data.get("vessel")
    try:
        mounting = Mounting(data["mounting"]) if data.get("mounting") is not None else None
        near = tuple(Near(n) for n in data.get("near") or ())
    except ValueError as wrong:
        raise InvalidInputError(Problem("/mounting", str(wrong))) from None
    return EstimateInput(
        at=_time(data.get("at"), "/at"),
        pitched_at=None if pitched is None else _time(pitched, "/pitched_at"),
        og=data.get("og"),
        volume_l=data.get("volume_l"),
        beer=_trace(data.get("beer"), "/beer"),
        air=_trace(data.get("air"), "/air"),
        mounting=mounting,
        wall=data.get("wall"),
        near=near,
        readings=_each(
            data.get("readings"),
            "/readings",
            lambda d, w: GravityReading(
                _time(d["at"], w), float(d["sg"]), ReadBy(d.get("by") or "hydrometer"), d.get("error_pt")
            ),
        ),
        sightings=_each(
            data.get("sightings"), "/sightings", lambda d, w: Sighting(_time(d["at"], w), d["what"])
        ),
        additions=_each(
            data.get("additions"), "/additions", lambda d, w: Addition(_time(d["at"], w), float(d["points"]))
        ),
        moves=tuple(_time(m, "/moves") for m in data.get("moves") or ()),
        cooled=_each(
            data.get("cooled"),
            "/cooled",
            lambda d, w: Span(_time(d["since"], w), None if d.get("until") is None else _time(d["until"], w)),
        ),
        heater=_each(data.get("heater"), "/heater", lambda d, w: Switch(_time(d["at"], w), bool(d["on"]))),
        heater_w=data.get("heater_w"),
        yeast=None if yeast is None else YeastRange(yeast["attenuation_low"], yeast["attenuation_high"]),
        vessel=None
        if vessel is None
        else VesselPrior(vessel["tau_h"], vessel["spread_ln"], vessel.get("batches", 1)),
        og_error_pt=float(data.get("og_error_pt") or 1.0),
    )


def _ranged(value: Json) -> Ranged | None:
    return None if value is None else Ranged(value["value"], value["low"], value["high"])


def estimate_from(data: Mapping[str, Json]) -> Estimate:
    """An estimate from its JSON, as it comes back from the worker or out of the record."""
    finish, weights, fit, thermal = (data.get(k) for k in ("finish", "weights", "fit", "thermal"))

    def moment(value: Json) -> datetime | None:
        return None if value is None else _time(value, "/finish")

    facts = None
    if fit is not None:
        tau = _ranged(fit["tau_h"])
        assert tau is not None
        facts = FitFacts(fit["residual_c"], tau, fit["minutes_used"], fit["readings_used"])
    return Estimate(
        at=_time(data["at"], "/at"),
        verdict=Verdict(data["verdict"]),
        gravity=_ranged(data.get("gravity")),
        share=_ranged(data.get("share")),
        rate_pt_per_day=_ranged(data.get("rate_pt_per_day")),
        finish=None
        if finish is None
        else RangedTime(moment(finish["at"]), moment(finish["low"]), moment(finish["high"])),
        heat_w=_ranged(data.get("heat_w")),
        weights=None if weights is None else Weights(**weights),
        evidence=tuple(data.get("evidence") or ()),
        fit=facts,
        thermal=None
        if thermal is None
        else ThermalFacts(
            **{
                **thermal,
                **{name: tuple(thermal.get(name) or ()) for name in ("heat_w", "progress", "heat_sd_w")},
            }
        ),
        asks=tuple(data.get("asks") or ()),
    )
