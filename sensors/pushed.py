"""Values in messages: which messages a probe listens to, and where in a payload its value stands.

Pure. A payload comes from a device that nobody here wrote: whatever it holds, reading it gives a value
or a reason why not, and never raises.
"""

import json
import math
import re
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any

from sensors.sample import ProbeId

LONGEST_PAYLOAD = 65_536
"""Bytes. A reading takes some hundreds; what is longer is not looked into."""

LONGEST_TOPIC = 65_535
"""Bytes of UTF-8 (MQTT 3.1.1, section 1.5.3)."""

LONGEST_PATH = 200
LATEST_UNIX_S = 7_258_118_400
"""The year 2200. What is later was meant in milliseconds."""

EARLIEST_UNIX_S = 631_152_000
"""The year 1990: a device whose clock was never set counts from 1970."""

_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,4})?", re.ASCII)
_RFC3339 = re.compile(r"\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d:\d\d(\.\d{1,9})?([Zz]|[+-]\d\d:\d\d)", re.ASCII)


class Refusal(StrEnum):
    """Why a message holds no value to go by."""

    TOO_LONG = "too-long"
    NOT_TEXT = "not-text"
    NOT_JSON = "not-json"
    NOTHING_THERE = "nothing-there"
    NOT_A_NUMBER = "not-a-number"
    NO_TIME = "no-time"
    NOT_A_TIME = "not-a-time"
    RETAINED = "retained"


SENTENCES = {
    Refusal.TOO_LONG: f"The payload is longer than {LONGEST_PAYLOAD // 1024} KiB.",
    Refusal.NOT_TEXT: "The payload is not text (UTF-8).",
    Refusal.NOT_JSON: "The payload is not JSON, but a path into it is declared.",
    Refusal.NOTHING_THERE: "The payload has nothing at the declared path.",
    Refusal.NOT_A_NUMBER: "What stands there is not a number.",
    Refusal.NO_TIME: "The payload has nothing at the path declared for its time.",
    Refusal.NOT_A_TIME: "Its time is neither an RFC 3339 time with an offset nor Unix time in seconds.",
    Refusal.RETAINED: "The broker had kept the message and nobody knows since when: it is not taken as now.",
}


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a probe listens to.

    topic: an MQTT topic, or a filter with ``+`` and ``#``. path: where the value stands in a JSON payload
    (``readings.0.temp_c``: names, and numbers for items of a list, between dots); None: the payload is the
    bare number. time_path: where its time stands; None: the time of arrival.
    """

    probe_id: ProbeId
    topic: str
    path: str | None = None
    time_path: str | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """A value in degrees Celsius, and its own time when the payload tells it (aware UTC)."""

    value_c: float
    at: datetime | None


def topic_fault(topic: str) -> str:
    """What is wrong with a topic filter (MQTT 3.1.1, section 4.7), in words; empty when it is right."""
    if not topic or len(topic.encode("utf-8", "surrogatepass")) > LONGEST_TOPIC:
        return "must have 1 to 65,535 bytes"
    if _has_control(topic):
        return "must not contain control characters"
    levels = topic.split("/")
    if any("+" in level and level != "+" for level in levels):
        return "may have + only as a whole level, such as cellar/+/temp"
    if any("#" in level and level != "#" for level in levels) or "#" in levels[:-1]:
        return "may have # only as its whole last level, such as cellar/#"
    if levels[0] == "$share":
        return "must not be a shared subscription: values would be missing here"
    return ""


def path_fault(path: str) -> str:
    """What is wrong with a path into a payload, in words; empty when it is right."""
    if not 1 <= len(path) <= LONGEST_PATH:
        return f"must have 1 to {LONGEST_PATH} characters"
    if _has_control(path):
        return "must not contain control characters"
    if not all(path.split(".")):
        return "must have a name or a number between its dots, such as readings.0.temp_c"
    return ""


def _has_control(text: str) -> bool:
    """Whether a text holds control characters, or half characters that no UTF-8 can carry."""
    return any(ord(c) < 32 or ord(c) == 127 or 0xD800 <= ord(c) <= 0xDFFF for c in text)


def fits(topic_filter: str, topic: str) -> bool:
    """Whether a topic matches a filter (MQTT 3.1.1, section 4.7)."""
    wanted, given = topic_filter.split("/"), topic.split("/")
    if topic.startswith("$") and wanted[0] in ("+", "#"):
        return False
    if wanted[-1] == "#":
        wanted = wanted[:-1]
        if len(given) < len(wanted):
            return False
        given = given[: len(wanted)]
    return len(wanted) == len(given) and all(
        level in ("+", name) for level, name in zip(wanted, given, strict=True)
    )


def read_payload(wanted: Wanted, payload: bytes) -> Found | Refusal:
    """The value that a payload holds for a probe, or why there is none. Never raises."""
    if len(payload) > LONGEST_PAYLOAD:
        return Refusal.TOO_LONG
    try:
        text = payload.decode()
    except UnicodeDecodeError:
        return Refusal.NOT_TEXT
    if wanted.path is None:
        value_c = _number(text.strip())
        return Refusal.NOT_A_NUMBER if value_c is None else Found(value_c, None)
    try:
        whole = json.loads(text)
    except (ValueError, RecursionError):
        return Refusal.NOT_JSON
    return _in_json(wanted.path, wanted.time_path, whole)


def _in_json(path: str, time_path: str | None, whole: Any) -> Found | Refusal:
    held = _at(path, whole)
    if held is None:
        return Refusal.NOTHING_THERE
    value_c = _number(held)
    if value_c is None:
        return Refusal.NOT_A_NUMBER
    if time_path is None:
        return Found(value_c, None)
    told = _at(time_path, whole)
    if told is None:
        return Refusal.NO_TIME
    at = _time(told)
    return Refusal.NOT_A_TIME if at is None else Found(value_c, at)


def _at(path: str, whole: Any) -> Any:
    """What stands at a path, or None."""
    here = whole
    for name in path.split("."):
        if isinstance(here, dict):
            here = here.get(name)
        elif isinstance(here, list) and name.isascii() and name.isdigit() and int(name) < len(here):
            here = here[int(name)]
        else:
            return None
    return here


def _number(held: Any) -> float | None:
    """A finite number; digits in quotes count, since many devices write everything as text."""
    if isinstance(held, bool) or not isinstance(held, int | float | str):
        return None
    if isinstance(held, str) and not _NUMBER.fullmatch(held):
        return None
    try:
        value = float(held)
    except OverflowError:
        return None
    return value if math.isfinite(value) else None


def _time(told: Any) -> datetime | None:
    if isinstance(told, str):
        if not _RFC3339.fullmatch(told):
            return None
        try:
            at = datetime.fromisoformat(told.replace(" ", "T").upper()).astimezone(UTC)
        except (ValueError, OverflowError):
            return None
        return at if EARLIEST_UNIX_S <= at.timestamp() <= LATEST_UNIX_S else None
    if isinstance(told, bool) or not isinstance(told, int | float):
        return None
    return datetime.fromtimestamp(told, UTC) if EARLIEST_UNIX_S <= told <= LATEST_UNIX_S else None
