"""The table of kinds, as agreed for the project: the numbers are its own choice, from common practice."""

import pytest

from service.plans.band import Band, band_around
from service.plans.kinds import KINDS, StageKind
from tests.plans.given import stage

TABLE = [
    # kind, alarm after, clear after, deadband, reach within, warm, cold, overdue after
    ("mash", 60, 60, 0.3, 900, "medium", "medium", 300),
    ("boil", 60, 60, 0.5, None, None, "medium", 300),
    ("steep", 60, 60, 0.5, None, "low", "low", 300),
    ("chill", None, None, 0.3, None, None, None, 900),
    ("stand", None, None, None, None, None, None, 900),
    ("hold", None, None, None, None, None, None, 900),
    ("primary", 600, 600, 0.3, 6 * 3600, "by-phase", "by-phase", 24 * 3600),
    ("rest", 1800, 1800, 0.3, 24 * 3600, "low", "medium", 24 * 3600),
    ("crash", 3600, 3600, 0.5, 48 * 3600, "low", "high", 24 * 3600),
    ("condition", 3600, 3600, 0.5, 48 * 3600, "medium", "low", 48 * 3600),
]

BANDS = [
    # kind, target, low, high
    ("mash", 67.0, 65.5, 68.5),
    ("boil", None, 97.0, None),
    ("steep", 80.0, 76.0, 84.0),
    ("chill", 20.0, None, 20.0),
    ("stand", 20.0, None, None),
    ("hold", 20.0, None, None),
    ("primary", 19.0, 17.0, 21.0),
    ("rest", 21.0, 19.5, 22.5),
    ("crash", 2.0, 0.0, 4.0),
    ("condition", 20.0, 16.0, 24.0),
]


@pytest.mark.parametrize("kind, alarm_s, clear_s, deadband_c, reach_s, warm, cold, overdue_s", TABLE)
def test_each_kind_has_its_delays_and_priorities(
    kind: str,
    alarm_s: float | None,
    clear_s: float | None,
    deadband_c: float | None,
    reach_s: float | None,
    warm: str | None,
    cold: str | None,
    overdue_s: float,
) -> None:
    defaults = KINDS[StageKind(kind)]

    assert (defaults.alarm_after_s, defaults.clear_after_s) == (alarm_s, clear_s)
    assert (defaults.deadband_c, defaults.reach_within_s) == (deadband_c, reach_s)
    assert (defaults.warm_priority, defaults.cold_priority) == (warm, cold)
    assert defaults.overdue_after_s == overdue_s


@pytest.mark.parametrize("kind, alarm_s, clear_s, deadband_c, reach_s, warm, cold, overdue_s", TABLE)
def test_a_stage_that_says_nothing_takes_all_of_its_kind(
    kind: str,
    alarm_s: float | None,
    clear_s: float | None,
    deadband_c: float | None,
    reach_s: float | None,
    warm: str | None,
    cold: str | None,
    overdue_s: float,
) -> None:
    bare = stage(kind)

    assert (bare.alarm_after_s, bare.clear_after_s) == (alarm_s, clear_s)
    assert (bare.deadband_c, bare.reach_within_s) == (deadband_c or 0.0, reach_s)
    assert (bare.warm_priority, bare.cold_priority) == (warm, cold)
    assert bare.overdue_after_s == overdue_s
    assert bare.ends == "brewer"
    assert not bare.relative


@pytest.mark.parametrize("kind, target_c, low_c, high_c", BANDS)
def test_each_kind_has_its_band(
    kind: str, target_c: float | None, low_c: float | None, high_c: float | None
) -> None:
    bare = stage(kind, target_c=target_c)

    assert band_around(bare, target_c, boiling_c=99.0) == Band(target_c, low_c, high_c)


def test_every_kind_is_in_both_tables() -> None:
    assert {row[0] for row in TABLE} == {row[0] for row in BANDS} == set(StageKind) == set(KINDS)


@pytest.mark.parametrize("kind", StageKind)
def test_wort_is_in_the_kettle_until_it_is_chilled(kind: StageKind) -> None:
    assert KINDS[kind].kettle == (kind in {"mash", "boil", "steep", "chill"})
