"""The declaration of the computations agrees with their functions and guards what a client may send."""

import dataclasses
import inspect
import math
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.call import Argument, ArgumentType, Call
from service.brewing.calls import CALLS
from service.brewing.working import Working
from service.errors import InvalidInputError

BY_NAME = {call.name: call for call in CALLS}
CURVE = [
    {"at": f"2026-01-10T15:{minute:02d}:00Z", "temp_c": 12 + 68 * math.exp(-minute / 15)}
    for minute in range(20)
]

# Each call: what is asked, and every member its answer must have beside the working.
ASKED: dict[str, tuple[dict[str, Any], set[str]]] = {
    "gravity": (
        {"sg": 1.048, "sample_c": 24, "instrument_c": 20, "zero_error_pt": 1},
        {"sg", "plato", "corrected_sg", "corrected_plato", "low", "high"},
    ),
    "alcohol": (
        {"og": 1.045, "fg": 1.010},
        {
            "original_extract_plato",
            "apparent_extract_plato",
            "real_extract_plato",
            "alcohol_by_mass_percent",
            "alcohol_by_volume_percent",
            "apparent_attenuation_percent",
            "real_attenuation_percent",
        },
    ),
    "dissolved": ({"temp_c": 20}, {"volumes", "grams_per_l"}),
    "priming": (
        {
            "volume_l": 5,
            "warmest_c": 20,
            "wanted_volumes": 2.3,
            "sugar": "sucrose",
            "points_left": 0,
            "bottles": [{"size_l": 0.5, "count": 9}],
        },
        {
            "residual_volumes",
            "grams_per_l",
            "grams_total",
            "bottles",
            "volumes",
            "pressure",
            "refused",
            "cautions",
        },
    ),
    "pressure": (
        {"volumes": 2.4, "temp_c": 20, "headspace_percent": 4, "headspace_air": True},
        {"gauge_bar", "air_bar"},
    ),
    "weight-loss": ({"og": 1.045, "volume_l": 5, "lost_g": 120}, {"sg", "low", "high"}),
    "refractometer": ({"og_brix": 12, "brix": 6.5, "wort_factor": 1.04}, {"sg", "low", "high"}),
    "addition": (
        {
            "volume_l": 5,
            "sg": 1.045,
            "mass_g": 100,
            "extract_share": 1,
            "fermentable_share": 1,
            "water_l": 0,
        },
        {"og_equivalent", "expected_fg_change_pt"},
    ),
    "strike": ({"grain_kg": 1.2, "water_l": 4, "grain_c": 20, "mash_c": 67}, {"water_c"}),
    "mash-lift": ({"grain_kg": 1.2, "water_l": 4, "from_c": 63, "to_c": 67, "hot_c": 95}, {"litres"}),
    "ice": ({"volume_l": 5, "og": 1.045, "from_c": 80, "to_c": 20, "ice_c": -18}, {"kg"}),
    "cooling": ({"samples": CURVE, "bath_c": 12, "targets_c": [20, 40]}, {"tau_s", "targets"}),
    "boiling-point": ({"altitude_m": 400}, {"temp_c"}),
    "keg": ({"volumes": 2.4, "temp_c": 5}, {"gauge_bar", "days"}),
    "conditioning": (
        {
            "residual_volumes": 0.85,
            "wanted_volumes": 2.4,
            "temp_c": 20,
            "days": 5,
            "squeezes": [{"days": 4, "firm": True}],
        },
        {"volumes", "worth_opening_days", "curve"},
    ),
    "boil": (
        {"hot_l": 7, "sg": 1.040, "minutes": 60, "boil_off_l_per_h": 1.2},
        {"hot_l", "cold_l", "sg", "boiled_off_l"},
    ),
    "flame": (
        {
            "grain_kg": 1,
            "water_l": 4,
            "from_c": 62,
            "to_c": 66,
            "heatings": [{"grain_kg": 1, "water_l": 4, "minutes": 8, "rise_c": 10}],
        },
        {"minutes", "heat_w"},
    ),
    "water-change": (
        {
            "volume_l": 5,
            "wort_c": 90,
            "target_c": 25,
            "bath_l": 12,
            "bath_c": 15,
            "fresh_c": 15,
            "tau_s": 600,
        },
        {"pays", "keep_s", "settles_at_c", "change_after_s", "changed_s", "fills_needed"},
    ),
}


def test_each_call_has_an_example_here() -> None:
    assert set(ASKED) == set(BY_NAME)
    assert len(BY_NAME) == len(CALLS)


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call.name)
def test_the_arguments_are_those_of_the_function(call: Call) -> None:
    parameters = inspect.signature(call.function).parameters
    # malt_heat is for checking against other figures and not asked of a brewer.
    names = [name for name in parameters if name != "malt_heat"]

    assert sorted(argument.name for argument in call.arguments) == sorted(names)
    for argument in call.arguments:
        parameter = parameters[argument.name]
        assert parameter.kind is inspect.Parameter.KEYWORD_ONLY
        assert argument.required == (parameter.default is inspect.Parameter.empty)
        if not argument.required and argument.type is not ArgumentType.OBJECTS:
            assert argument.default == parameter.default


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call.name)
def test_every_answer_has_its_members_and_shows_its_working(call: Call) -> None:
    asked, members = ASKED[call.name]

    answer = call.ask(asked)

    assert dataclasses.is_dataclass(answer)
    assert members | {"working"} <= {field.name for field in dataclasses.fields(answer)}
    working = answer.working
    assert isinstance(working, Working)
    assert working.formula
    assert working.source
    assert working.limits
    assert working.inputs


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call.name)
def test_every_number_is_held_to_its_declared_limits(call: Call) -> None:
    asked, _ = ASKED[call.name]
    for argument in call.arguments:
        if argument.type is not ArgumentType.NUMBER:
            continue
        assert argument.limits is not None
        rivals = call.exactly_one_of if argument.name in call.exactly_one_of else ()
        others = {name: value for name, value in asked.items() if name not in rivals}
        for wrong in (argument.limits.low - 1e6, argument.limits.high + 1e6, math.nan, math.inf, 10**400):
            with pytest.raises(InvalidInputError) as refusal:
                call.ask({**others, argument.name: wrong})

            assert f"/{argument.name}" in [problem.field for problem in refusal.value.problems]


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call.name)
def test_what_is_missing_unknown_or_ill_typed_is_named(call: Call) -> None:
    asked, _ = ASKED[call.name]
    for argument in call.arguments:
        with pytest.raises(InvalidInputError) as refusal:
            call.ask({**asked, argument.name: {"a": 1}})
        assert refusal.value.problems[0].field == f"/{argument.name}"
        if argument.required:
            with pytest.raises(InvalidInputError) as refusal:
                call.ask({name: value for name, value in asked.items() if name != argument.name})
            assert refusal.value.problems[0].field == f"/{argument.name}"

    with pytest.raises(InvalidInputError) as refusal:
        call.ask({**asked, "gibberish/~": 1})
    assert refusal.value.problems[0].field == "/gibberish~1~0"


@pytest.mark.parametrize(
    ("name", "changed", "field"),
    [
        ("priming", {"bottles": [{"size_l": 0.5, "count": 2.5}]}, "/bottles/0/count"),
        ("priming", {"bottles": [{"size_l": 0.5}]}, "/bottles/0/count"),
        ("priming", {"bottles": [{"size_l": 0.5, "count": 2, "colour": "brown"}]}, "/bottles/0/colour"),
        ("priming", {"bottles": [3]}, "/bottles/0"),
        ("priming", {"sugar": "salt"}, "/sugar"),
        ("priming", {"points_left": True}, "/points_left"),
        ("priming", {"points_left": None}, "/points_left"),
        ("pressure", {"headspace_air": 1}, "/headspace_air"),
        ("cooling", {"samples": [{"at": "2026-01-10T15:00:00", "temp_c": 80}]}, "/samples/0/at"),
        ("cooling", {"samples": [{"at": "2026-01-10", "temp_c": 80}]}, "/samples/0/at"),
        ("cooling", {"samples": [{"at": "Tuesday", "temp_c": 80}]}, "/samples/0/at"),
        ("cooling", {"samples": [{"at": 1768057200, "temp_c": 80}]}, "/samples/0/at"),
        ("cooling", {"targets_c": [20, "warm"]}, "/targets_c/1"),
        ("cooling", {"targets_c": [20, 158]}, "/targets_c/1"),
    ],
)
def test_lists_choices_and_times_are_checked_inside(name: str, changed: dict[str, Any], field: str) -> None:
    asked, _ = ASKED[name]

    with pytest.raises(InvalidInputError) as refusal:
        BY_NAME[name].ask(asked | changed)

    assert refusal.value.problems[0].field == field
    assert refusal.value.problems[0].remedy


def test_an_optional_member_may_be_null_where_it_has_no_usual_value() -> None:
    answer = BY_NAME["gravity"].ask({"sg": 1.048, "plato": None})

    assert answer.sg == 1.048


def test_times_may_be_given_as_such() -> None:
    samples = [{"at": datetime(2026, 1, 10, 15, n, tzinfo=UTC), "temp_c": 80.0 - 5 * n} for n in range(6)]

    assert BY_NAME["cooling"].ask({"samples": samples, "targets_c": []}).tau_s > 0


def plain(argument: Argument) -> st.SearchStrategy[Any]:
    if argument.type is ArgumentType.NUMBER and argument.limits is not None:
        return st.floats(argument.limits.low, argument.limits.high)
    if argument.type is ArgumentType.INTEGER:
        return st.integers(1, 50)
    if argument.type is ArgumentType.BOOLEAN:
        return st.booleans()
    if argument.type is ArgumentType.CHOICE:
        return st.sampled_from(argument.choices)
    if argument.type is ArgumentType.TIME:
        return st.integers(0, 3600).map(lambda s: f"2026-01-10T15:{s // 60 % 60:02d}:{s % 60:02d}Z")
    if argument.type is ArgumentType.NUMBERS:
        return st.lists(st.floats(0, 100), max_size=3)
    return st.lists(
        st.fixed_dictionaries({field.name: plain(field) for field in argument.fields}), max_size=6
    )


def numbers_in(value: object) -> list[float]:
    if isinstance(value, bool):
        return []
    if isinstance(value, int | float):
        return [float(value)]
    if isinstance(value, dict):
        return [number for item in value.values() for number in numbers_in(item)]
    if isinstance(value, list | tuple):
        return [number for item in value for number in numbers_in(item)]
    return []


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call.name)
def test_inside_its_limits_a_call_answers_with_numbers_or_refuses_and_never_fails(call: Call) -> None:
    required = {a.name: plain(a) for a in call.arguments if a.required or a.name == "plato"}
    optional = {a.name: plain(a) for a in call.arguments if a.name not in required and a.name != "sg"}

    @settings(max_examples=40, deadline=None)
    @given(asked=st.fixed_dictionaries(required, optional=optional))
    def never_fails(asked: dict[str, Any]) -> None:
        try:
            answer = call.ask(asked)
        except InvalidInputError:
            return
        assert all(math.isfinite(number) for number in numbers_in(dataclasses.asdict(answer)))

    never_fails()
