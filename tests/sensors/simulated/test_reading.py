"""Scenario files: the good ones run, and the bad ones say which field to mend and how."""

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sensors.simulated.happenings import Fridge
from sensors.simulated.make import source_of, twin_of
from sensors.simulated.problems import ScenarioError
from sensors.simulated.reading import load_scenario, read_scenario
from sensors.simulated.scenario import Scenario
from tests.sensors.simulated.twins import SCENARIOS, START

SHIPPED = sorted(SCENARIOS.glob("*.json"))
FERMENTER: dict[str, Any] = json.loads((SCENARIOS / "fridge-crash.json").read_text("utf-8"))
KETTLE: dict[str, Any] = json.loads((SCENARIOS / "brewing-day.json").read_text("utf-8"))


def changed(base: dict[str, Any], pointer: str, value: object) -> str:
    """The scenario as text with one place set to something else, or taken out."""
    scenario = json.loads(json.dumps(base))
    *way, last = [int(part) if part.isdigit() else part for part in pointer.strip("/").split("/")]
    place: Any = scenario
    for part in way:
        place = place[part]
    if value is GONE:
        del place[last]
    else:
        place[last] = value
    return json.dumps(scenario)


GONE = object()


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_shipped_scenario_runs(path: Path) -> None:
    scenario = load_scenario(path)

    moment = twin_of(scenario, seed=1).at(scenario.starts + timedelta(hours=30))
    sweep = source_of(scenario, seed=1).sweep(scenario.starts + timedelta(minutes=30))

    assert -10.0 < moment.beer_c < 105.0
    assert len(sweep.values) == len(sweep.present) >= 2


def test_what_the_file_says_is_what_is_simulated() -> None:
    scenario = read_scenario(json.dumps(FERMENTER))

    assert isinstance(scenario, Scenario)
    assert scenario.starts == datetime(2026, 5, 4, 17, tzinfo=UTC)
    assert scenario.beer.litres == 10.0
    assert scenario.beer.lag_h == 8.0
    assert scenario.happenings[1] == Fridge(at_h=192.0, lasts_h=72.0, on_above_c=4.0, off_below_c=1.0)


def test_it_can_begin_at_another_time_than_the_file_says() -> None:
    text = changed(FERMENTER, "/starts", GONE)

    assert read_scenario(text, starts=START).starts == START


@pytest.mark.parametrize(
    "base, pointer, value, field, says",
    [
        (FERMENTER, "/name", "  ", "/name", "1 to 200 letters"),
        (FERMENTER, "/name", "n" * 201, "/name", "1 to 200 letters"),
        (FERMENTER, "/starts", "2026-05-04T17:00:00", "/starts", "no time zone"),
        (FERMENTER, "/starts", "yesterday", "/starts", "2026-03-02T18:00:00Z"),
        (FERMENTER, "/starts", GONE, "/starts", "missing"),
        (FERMENTER, "/starts", 5, "/starts", "no time"),
        (FERMENTER, "/place", "attic", "/place", "shed"),
        (FERMENTER, "/rooms", {}, "/rooms", "at least one"),
        (FERMENTER, "/rooms", [], "/rooms", "no object"),
        (FERMENTER, "/rooms/shed/mean_c", GONE, "/rooms/shed/mean_c", "from -40 to 120 C"),
        (FERMENTER, "/rooms/shed/mean_c", "warm", "/rooms/shed/mean_c", "no number"),
        (FERMENTER, "/rooms/shed/heating", {"on_h": 6, "off_h": 6}, "/rooms/shed/heating", "same hour"),
        (FERMENTER, "/beer", GONE, "/beer", "missing"),
        (FERMENTER, "/beer/litres", 0, "/beer/litres", "from 0.5 to 200 litres"),
        (FERMENTER, "/beer/og", 1046, "/beer/og", "from 1 to 1.15"),
        (FERMENTER, "/beer/og", True, "/beer/og", "no number"),
        (FERMENTER, "/beer/og", float("nan"), "/beer/og", "out of range"),
        (FERMENTER, "/beer/og", float("inf"), "/beer/og", "out of range"),
        (FERMENTER, "/beer/colour", 20, "/beer/colour", "no such field"),
        (FERMENTER, "/beer/stops_at_share", 1.5, "/beer/stops_at_share", "from 0 to 1"),
        (FERMENTER, "/probe", {"at": "floor"}, "/probe/at", "top, middle, bottom, wall, air"),
        (FERMENTER, "/kind", "barrel", "/kind", "fermenter, kettle"),
        (FERMENTER, "/happenings", {}, "/happenings", "no list"),
        (FERMENTER, "/happenings/0", "chill", "/happenings/0", "no object"),
        (FERMENTER, "/happenings/0/kind", "freezer", "/happenings/0/kind", "wet-cloth"),
        (FERMENTER, "/happenings/0/kind", GONE, "/happenings/0/kind", "missing"),
        (FERMENTER, "/happenings/0/at_h", -1, "/happenings/0/at_h", "from 0"),
        (FERMENTER, "/happenings/0/off_below_c", 18, "/happenings/0/off_below_c", "not below on_above_c"),
        (FERMENTER, "/happenings/0", {"kind": "move", "at_h": 1, "to": "bar"}, "/happenings/0/to", "no room"),
        (
            FERMENTER,
            "/happenings/0",
            {"kind": "door", "at_h": 1, "room": "bar"},
            "/happenings/0/room",
            "shed",
        ),
        (
            FERMENTER,
            "/happenings/0",
            {"kind": "heat-pad", "at_h": 1, "watts": 20, "on_below_c": 18},
            "/happenings/0/off_above_c",
            "both limits",
        ),
        (FERMENTER, "/faults", [{"kind": "crc"}], "/faults/0", "exactly one of"),
        (FERMENTER, "/faults", [{"kind": "crc", "at_h": 1, "times_a_day": 2}], "/faults/0", "more than once"),
        (FERMENTER, "/faults", [{"kind": "gremlin", "at_h": 1}], "/faults/0/kind", "power-on"),
        (FERMENTER, "/faults", [{"kind": "crc", "share_of_reads": 2}], "/faults/0/share_of_reads", "0 to 1"),
        (
            FERMENTER,
            "/faults",
            [{"kind": "crc", "at_h": 1, "probe": "sim-kettle"}],
            "/faults/0/probe",
            "sim-bucket, sim-cupboard",
        ),
        (KETTLE, "/steps", GONE, "/steps", "a list"),
        (KETTLE, "/steps/2/until_c", 105, "/steps/2/until_c", "boiling point"),
        (KETTLE, "/steps/1/lasts_min", 0, "/steps/1/lasts_min", "from 0.5"),
        (KETTLE, "/steps/0/kind", "sparge", "/steps/0/kind", "mash-in"),
        (KETTLE, "/beer", {}, "/beer", "no such field"),
    ],
)
def test_a_bad_file_is_refused_with_its_field_and_a_remedy(
    base: dict[str, Any], pointer: str, value: object, field: str, says: str
) -> None:
    text = changed(base, pointer, value)

    with pytest.raises(ScenarioError) as refused:
        read_scenario(text)

    assert refused.value.field == field
    assert refused.value.remedy.endswith(".")
    assert says in str(refused.value)


@pytest.mark.parametrize(
    "text, says",
    [
        ("", "not JSON"),
        ("{", "not JSON"),
        ("[" * 100_000, "not JSON"),
        ("[]", "no object"),
        ("null", "no object"),
        ('{"name": "a", "name": "b"}', "twice"),
    ],
)
def test_what_is_no_object_is_refused(text: str, says: str) -> None:
    with pytest.raises(ScenarioError, match=says):
        read_scenario(text)


@pytest.mark.parametrize(
    "prepare, says",
    [
        (lambda path: path.with_name("another").touch(), "cannot be read"),
        (lambda path: path.mkdir(), "cannot be read"),
        (lambda path: path.write_bytes(b"\xff\xfe{"), "not text"),
        (lambda path: path.write_bytes(b" " * 1_000_001), "larger than 1 MB"),
    ],
)
def test_a_file_that_cannot_be_read_is_named(
    prepare: Callable[[Path], object], says: str, tmp_path: Path
) -> None:
    path = tmp_path / "scenario.json"
    prepare(path)

    with pytest.raises(ScenarioError, match=says) as refused:
        load_scenario(path)

    assert str(path) in str(refused.value)


leaves = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5)
keys = st.text(max_size=5)
anything = st.recursive(
    leaves,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3),
    max_leaves=8,
)
PLACES = [
    "/name",
    "/starts",
    "/rooms",
    "/rooms/shed",
    "/place",
    "/beer",
    "/beer/og",
    "/vessel",
    "/happenings",
    "/happenings/0",
    "/happenings/1/at_h",
    "/kind",
]


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(PLACES), anything)
def test_nothing_else_than_a_scenario_error_comes_out(pointer: str, value: object) -> None:
    text = changed(FERMENTER, pointer, value)
    remedy, simulated = "", False

    try:
        simulated = isinstance(read_scenario(text), Scenario)
    except ScenarioError as refused:
        remedy = refused.remedy

    assert simulated or remedy
