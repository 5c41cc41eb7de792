"""What can be asked for: one model for each body, with its limits."""

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, ConfigDict, Field, WithJsonSchema, model_validator

from service.actions.wire import Ask, Instant, Name, Number, Text

_DAY_TIME = r"^([01][0-9]|2[0-3]):[0-5][0-9]$"
_DAY_TIME_SCHEMA = {"type": "string", "pattern": _DAY_TIME}


def _of_a_day(text: str) -> str:
    if not re.match(_DAY_TIME, text):
        raise ValueError("must be a time of day from 00:00 to 23:59, such as 08:00")
    return text


VesselKind = Literal["kettle", "fermenter", "bath", "crate", "keg", "room"]
Near = Literal["heater", "thermostat-fridge", "water-bath", "wet-cloth", "fan", "insulation"]
Role = Literal["liquid", "surroundings", "bath"]
Mounting = Literal["thermowell", "lagged", "bare", "immersed"]
PriorityWord = Literal["low", "medium", "high"]
DayTime = Annotated[str, Field(strict=True), AfterValidator(_of_a_day), WithJsonSchema(_DAY_TIME_SCHEMA)]
"""A time of day by the brewer's clock, such as 08:00."""
Litres = Annotated[Number, Field(gt=0, le=1000)]
Gravity = Annotated[Number, Field(ge=0.98, le=1.2)]


class NewVessel(Ask):
    """A vessel to be made; only its name is required."""

    name: Name
    kind: VesselKind = "fermenter"
    wall: Name | None = None
    volume_l: Litres | None = None
    near: Annotated[list[Near], Field(max_length=6)] = Field(default_factory=list)


class VesselChange(Ask):
    """A change of a vessel (JSON merge patch)."""

    name: Name | None = None
    kind: VesselKind | None = None
    wall: Name | None = None
    volume_l: Litres | None = None
    near: list[Near] | None = None


class NewProbe(Ask):
    """A probe whose values arrive: pushed over HTTP, or in messages over MQTT; or `typed`, a thermometer
    beside a vessel that a person reads: its values come as samples too, and it has no interval.

    topic, path, time_path are for `mqtt`: the messages it listens to, and where in a JSON payload its
    value and its time stand. Without a path the payload is the bare number.
    """

    label: Name
    source: Literal["pushed", "mqtt", "typed"] = "pushed"
    vessel_id: str | None = None
    role: Role | None = None
    mounting: Mounting | None = None
    interval_s: Annotated[Number, Field(ge=1, le=86400)] = 60.0
    topic: str | None = None
    path: str | None = None
    time_path: str | None = None


class ProbeChange(Ask):
    """A change of a probe (JSON merge patch). A place is dated with `from`, now unless said."""

    label: Name | None = None
    vessel_id: str | None = None
    role: Role | None = None
    mounting: Mounting | None = None
    interval_s: Annotated[Number, Field(ge=1, le=86400)] | None = None
    resolution_bits: Annotated[int, Field(strict=True, ge=9, le=12)] | None = None
    topic: str | None = None
    path: str | None = None
    time_path: str | None = None
    from_: Annotated[Instant | None, Field(alias="from")] = None


class CalibrationPoint(Ask):
    """The probe read `reading_c` where it truly was `reference_c`; `from` is now unless said.

    Ice water is 0 C; boiling water takes its temperature from the air pressure or the altitude.
    """

    method: Literal["ice", "boil", "reference"]
    reading_c: Number
    reference_c: Number | None = None
    from_: Annotated[Instant | None, Field(alias="from")] = None
    pressure_hpa: Number | None = None
    altitude_m: Number | None = None


class Replacement(Ask):
    """Another probe takes over; `at` is now unless said."""

    with_: Annotated[str, Field(alias="with")]
    at: Instant | None = None


class HeaterChange(Ask):
    """A heater or cooler was switched."""

    at: Instant
    on: Annotated[bool, Field(strict=True)]


class HeaterChanges(Ask):
    """The record of a heater or cooler that something else switches."""

    changes: Annotated[list[HeaterChange], Field(min_length=1, max_length=10_000)]


class PushedSamples(Ask):
    """Samples that arrive. Each is looked at by itself, so that good ones are kept beside bad ones."""

    samples: Annotated[list[dict[str, Any]], Field(max_length=10_000)]


class Yeast(Ask):
    """What is known of the yeast."""

    name: Name
    low_c: Annotated[Number, Field(ge=-2, le=45)] | None = None
    high_c: Annotated[Number, Field(ge=-2, le=45)] | None = None
    attenuation_low: Annotated[Number, Field(gt=0, le=1)] | None = None
    attenuation_high: Annotated[Number, Field(gt=0, le=1)] | None = None
    usual_lag_h: Annotated[Number, Field(ge=0, le=168)] | None = None
    mixed_culture: bool = False

    @model_validator(mode="after")
    def _ordered(self) -> "Yeast":
        for low, high, what in (
            (self.low_c, self.high_c, "low_c must be below high_c"),
            (self.attenuation_low, self.attenuation_high, "attenuation_low must be below attenuation_high"),
        ):
            if low is not None and high is not None and low > high:
                raise ValueError(what)
        return self


class NewBatch(Ask):
    """A batch to be started: exactly one of plan and plan_id."""

    plan: Any = None
    plan_id: str | None = None
    name: Name
    vessel_id: str
    volume_l: Litres | None = None
    og: Gravity | None = None
    expected_fg: Gravity | None = None
    started_at: Instant | None = None
    pitched_at: Instant | None = None
    yeast: Yeast | None = None


class BatchChange(Ask):
    """A change of a batch (JSON merge patch)."""

    name: Name | None = None
    volume_l: Litres | None = None
    og: Gravity | None = None
    expected_fg: Gravity | None = None
    yeast: Yeast | None = None


class Advance(Ask):
    """Into another stage, or to the end; `at` is now unless said."""

    to: Name
    at: Instant | None = None


class StageChange(Ask):
    """A new time for a stage that was entered, left, or is to last longer."""

    entered_at: Instant | None = None
    left_at: Instant | None = None
    lasts_s: Annotated[Number, Field(gt=0, le=63_072_000)] | None = None


class NewPlace(Ask):
    """A move into another vessel; `from` is now unless said.

    also: a part of it goes there, the rest stays. leaves: of several vessels the one that it comes out of.
    """

    vessel_id: str
    also: Annotated[bool, Field(strict=True)] = False
    leaves: str | None = None
    from_: Annotated[Instant | None, Field(alias="from")] = None


class PlaceChange(Ask):
    """One of several vessels is empty; `to` is now unless said."""

    to: Instant | None = None


class Acknowledge(Ask):
    """Somebody has seen it."""

    note: Text | None = None


class Shelve(Ask):
    """Silence for a while, with a reason."""

    for_s: Annotated[Number, Field(gt=0)]
    reason: Text


class NewChannel(Ask):
    """A way for messages to leave; the members beside these depend on its kind.

    for_helper: it speaks only during an absence that names it. digest_at: local time of a daily message.
    """

    model_config = ConfigDict(extra="allow", frozen=True)

    name: Name
    kind: Literal["webhook", "mail", "apprise"]
    quiet_hours: dict[str, Any] | None = None
    least_priority: PriorityWord = "low"
    for_helper: Annotated[bool, Field(strict=True)] = False
    digest_at: DayTime | None = None


class ChannelChange(Ask):
    """A change of a channel (JSON merge patch); a secret that is left out stays."""

    model_config = ConfigDict(extra="allow", frozen=True)

    name: Name | None = None
    quiet_hours: dict[str, Any] | None = None
    least_priority: PriorityWord | None = None
    for_helper: Annotated[bool, Field(strict=True)] | None = None
    digest_at: DayTime | None = None
