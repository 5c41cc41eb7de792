"""Forgotten buttons on simulated kettles and in simulated fermentations; no question where nothing began."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from random import Random

import pytest

from sensors.simulated.happenings import DoorOpened, Fridge, Lagging, WetCloth
from sensors.simulated.kettle import Kettle
from sensors.simulated.kettle_scene import Chill, Heat, KettleScene, KettleStep, MashIn, Stand, TopUp
from sensors.simulated.kitchen import Kitchen
from sensors.simulated.moment import Twin
from service.plans.course import Course, advance, begin
from service.plans.model import Plan
from service.plans.noticing import LOOK_BACK, Point, Question, What, look_back, noticed
from service.plans.reading import plan_from_json
from tests.sensors.simulated.twins import lively
from tests.thermal.build import batch

START = datetime.fromisoformat("2026-03-02T18:00:00+00:00")
MINUTE = timedelta(minutes=1)

DAY: Plan = plan_from_json(
    {
        "name": "Brewing day",
        "stages": [
            {"key": "strike", "kind": "hold", "lasts_s": 1800, "ends": "brewer"},
            {"key": "mash", "kind": "mash", "target_c": 67, "lasts_s": 3600, "ends": "brewer"},
            {"key": "boil", "kind": "boil", "lasts_s": 3600, "ends": "brewer"},
            {"key": "cool", "kind": "chill", "target_c": 80, "ends": "brewer"},
            {"key": "hops", "kind": "steep", "target_c": 78, "lasts_s": 1200, "ends": "brewer"},
            {"key": "cold", "kind": "chill", "target_c": 20, "ends": "brewer"},
            {"key": "primary", "kind": "primary", "target_c": 19, "lasts_s": 864000, "ends": "brewer"},
            {"key": "rest", "kind": "rest", "target_c": 20, "lasts_s": 172800, "ends": "brewer"},
            {"key": "crash", "kind": "crash", "target_c": 4, "lasts_s": 172800, "ends": "brewer"},
        ],
    }
)


def trace_of(twin: Twin, minutes: int, every: int = 1, seed: int = 0) -> list[Point]:
    """Minute means as a probe of 1/16 degree gives them."""
    chance = Random(seed)
    found = []
    for n in range(0, minutes, every):
        at = twin.starts + n * MINUTE
        found.append(Point(at, round((twin.at(at).probe_c + chance.gauss(0, 0.03)) * 16) / 16))
    return found


def asked(
    course: Course, trace: Sequence[Point], every: int = 1, tau_h: float = 6.5
) -> list[tuple[datetime, Question]]:
    """Every question of a trace, looked at as it grows."""
    window = look_back(DAY, course)
    if window is None:
        return []
    found = []
    for n in range(1, len(trace), every):
        now = trace[n].at + MINUTE
        recent = trace[max(0, n - int(window / MINUTE)) : n + 1]
        question = noticed(DAY, course, recent, now, tau_h)
        if question is not None:
            found.append((now, question))
    return found


def in_stage(key: str, at: datetime = START) -> Course:
    course = begin(DAY, at, at)
    return course if key == "strike" else advance(DAY, course, key, at, at)


def pot(litres: float, *steps: KettleStep, begins_c: float = 20.0) -> Kettle:
    return Kettle(KettleScene("Pot", START, litres, begins_c, steps, loss_w_per_k=1.8 * litres**0.5), seed=3)


SIZES = [(5.0, 1800.0), (10.0, 2500.0), (25.0, 4500.0)]


@pytest.mark.parametrize(("litres", "watts"), SIZES)
def test_malt_that_goes_in_is_asked_about_at_its_minute(litres: float, watts: float) -> None:
    heat = Heat(watts, 200, until_c=72.0)
    heating = trace_of(pot(litres, heat), 200)
    hot = next(n for n, p in enumerate(heating) if p.temp_c >= 71.5)
    scene = pot(litres, heat, Stand(5), MashIn(litres / 4), Stand(60))

    found = asked(in_stage("strike"), trace_of(scene, hot + 40))

    assert {q.what for _, q in found} == {What.MASH_IN}
    assert {q.to for _, q in found} == {"mash"}
    when, question = found[0]
    assert abs((question.at - START) / MINUTE - hot - 5) <= 2
    assert (when - question.at) / MINUTE <= 12


@pytest.mark.parametrize(("litres", "watts"), SIZES)
def test_a_boil_is_asked_about_when_it_stands_at_its_plateau(litres: float, watts: float) -> None:
    scene = pot(litres, Stand(60), Heat(watts, 240), begins_c=67.0)
    trace = trace_of(scene, 240)
    boils = next(n for n, p in enumerate(trace) if p.temp_c >= 99.4)

    found = asked(in_stage("mash"), trace[: boils + 30])

    assert {(q.what, q.to) for _, q in found} == {(What.BOIL, "boil")}
    when, question = found[0]
    assert abs((question.at - START) / MINUTE - boils) <= 2
    assert (when - question.at) / MINUTE <= 8


@pytest.mark.parametrize(("litres", "watts"), SIZES)
def test_chilling_from_the_boil_is_asked_about(litres: float, watts: float) -> None:
    sink = Chill(40, bath_litres=4 * litres, change_every_min=5, bath_w_per_k=12 * litres)
    trace = trace_of(pot(litres, Heat(watts, 60), sink, begins_c=99.0), 90)

    found = asked(in_stage("boil"), trace)

    assert {q.what for _, q in found} == {What.CHILL}
    assert {q.to for _, q in found} == {"cool"}
    when, question = found[0]
    assert abs((question.at - START) / MINUTE - 60) <= 2
    assert (when - START) / MINUTE <= 60 + 12


def test_chilling_after_the_steep_is_asked_about_and_the_steep_itself_is_not() -> None:
    sink = Chill(30, bath_litres=40, change_every_min=5, bath_w_per_k=300)
    trace = trace_of(pot(10.0, Stand(30), sink, begins_c=80.0), 60)

    found = asked(in_stage("hops"), trace)

    assert {(q.what, q.to) for _, q in found} == {(What.CHILL, "cold")}
    assert found[0][0] >= START + 32 * MINUTE
    assert abs((found[0][1].at - START) / MINUTE - 30) <= 2


@pytest.mark.parametrize("litres", [4.0, 5.0, 10.0, 25.0])
@pytest.mark.parametrize(
    ("stage", "scene"),
    [
        ("strike", (Heat(2500, 120, until_c=72.0), Stand(60))),
        ("mash", (Stand(90),)),
        ("mash", (Stand(30), TopUp(0.5, 95.0), Stand(15), Heat(2500, 10, until_c=72.0), Stand(20))),
        ("mash", (Stand(20), Heat(3000, 60, until_c=88.0), Stand(10))),
        ("hops", (Stand(60),)),
    ],
)
def test_what_is_ordinary_at_the_stove_raises_no_question(
    litres: float, stage: str, scene: tuple[KettleStep, ...]
) -> None:
    begins = {"strike": 15.0, "mash": 67.0, "hops": 80.0}[stage]

    found = asked(in_stage(stage), trace_of(pot(litres, *scene, begins_c=begins), 130, seed=int(litres)))

    assert found == []


@pytest.mark.parametrize("litres", [5.0, 10.0, 25.0])
def test_a_boil_that_is_topped_up_or_turned_off_is_not_being_chilled(litres: float) -> None:
    heat = Heat(250 * litres, 20)
    scene = (heat, TopUp(litres / 12, 15.0), heat, Stand(15), heat)

    found = asked(in_stage("boil"), trace_of(pot(litres, *scene, begins_c=99.0), 75))

    assert found == []


@pytest.mark.parametrize("seed", range(1, 7))
def test_an_ordinary_fermentation_is_asked_nothing(seed: int) -> None:
    scenario = replace(
        lively(),
        happenings=(
            WetCloth(at_h=40, lasts_h=24),
            Lagging(at_h=90, lasts_h=24),
            DoorOpened(at_h=60 + seed, room="kitchen", drop_c=8.0, recover_min=120),
            DoorOpened(at_h=110 + seed, room="kitchen", drop_c=8.0, recover_min=120),
        ),
    )
    twin = Kitchen(scenario, seed)
    trace = trace_of(twin, 8 * 1440, seed=seed)
    made = batch(192, volume_l=5.0 + 3 * seed, swing_c=1.5, seed=seed)
    second = [Point(START + n * MINUTE, c) for n, c in enumerate(made.beer_c)]

    found = [
        *asked(in_stage("primary", twin.starts), trace, every=30),
        *asked(in_stage("primary"), second, every=30, tau_h=8.0),
    ]

    assert found == []


@pytest.mark.parametrize("seed", range(1, 5))
def test_a_fridge_that_was_switched_on_is_asked_about_for_a_whole_day(seed: int) -> None:
    scenario = replace(lively(), happenings=(Fridge(at_h=150, on_above_c=4.5, off_below_c=3.0),))
    twin = Kitchen(scenario, seed)
    trace = trace_of(twin, 172 * 60, seed=seed)

    found = asked(in_stage("rest", twin.starts), trace, every=20)

    assert {(q.what, q.to) for _, q in found} == {(What.CRASH, "crash")}
    when, question = found[0]
    assert abs((question.at - twin.starts) / timedelta(hours=1) - 150) <= 0.75
    assert (when - twin.starts) / timedelta(hours=1) <= 154
    assert found[-1][0] >= trace[-1].at - timedelta(minutes=25)


def test_a_stage_already_entered_is_not_asked_about() -> None:
    trace = trace_of(pot(10.0, Stand(5), Heat(2500, 240), begins_c=95.0), 60)

    assert asked(in_stage("boil"), trace) == []
    assert asked(in_stage("primary"), trace[:3]) == []


def test_what_began_before_the_present_stage_or_is_long_past_is_not_asked_about() -> None:
    trace = trace_of(pot(10.0, Stand(10), Heat(3000, 240), begins_c=80.0), 90)
    late = advance(DAY, begin(DAY, START, START), "mash", trace[-2].at, trace[-1].at)

    assert noticed(DAY, late, trace, trace[-1].at, 6.5) is None
    assert noticed(DAY, in_stage("mash"), trace, trace[-1].at + 5 * MINUTE, 6.5) is None
    assert noticed(DAY, in_stage("mash"), trace, trace[-1].at, 6.5) is not None


def test_a_kettles_own_plateau_counts_before_the_sea_level() -> None:
    high = Kettle(KettleScene("Hut", START, 10, 67, (Heat(2500, 120),), boils_at_c=93.0), 1)
    trace = trace_of(high, 100)

    known = noticed(DAY, in_stage("mash"), trace, trace[-1].at, 6.5, boiling_c=93.0)
    other = noticed(DAY, in_stage("mash"), trace, trace[-1].at, 6.5, boiling_c=99.8)

    assert known is not None
    assert known.what is What.BOIL
    assert other is None


def test_there_is_nothing_to_look_at_where_nothing_is_asked() -> None:
    assert look_back(DAY, in_stage("crash")) is None
    assert look_back(DAY, in_stage("mash")) == LOOK_BACK[True]
    assert look_back(DAY, in_stage("primary")) == LOOK_BACK[False]
