"""The word for a state, from findings alone."""

from dataclasses import replace

import pytest

from service.thermal.results import Verdict
from service.thermal.words import Findings, Late, word

QUIET = Findings(
    hour=170,
    warped=165,
    begun=1.0,
    upper_day_pt=0.6,
    day_pt=0.2,
    fastest_pt=15,
    width_pt=8,
    none=0.0,
    idle=0.0,
    stopped=0.05,
    drop_seen_pt=0.0,
    foam_seen=False,
    readings=(),
    og_pt=48,
    low_attenuation=None,
    jar_attenuation=None,
)
BUSY = replace(QUIET, hour=50, warped=50, upper_day_pt=18, day_pt=12)
IDLE = replace(QUIET, hour=80, warped=78, begun=0.1, upper_day_pt=20, day_pt=5, none=0.8, idle=0.9)


@pytest.mark.parametrize(
    "found, verdict",
    [
        (QUIET, Verdict.ENDED),
        (replace(QUIET, upper_day_pt=1.3), Verdict.SLOWING),
        (replace(QUIET, none=0.2), Verdict.SLOWING),
        (replace(QUIET, stopped=0.95), Verdict.POSSIBLY_STOPPED),
        (replace(QUIET, stopped=0.85), Verdict.ENDED),
        (BUSY, Verdict.WORKING),
        (replace(BUSY, day_pt=5.0), Verdict.SLOWING),
        (replace(BUSY, begun=0.85, day_pt=3.0, stopped=0.95, upper_day_pt=2.0), Verdict.SLOWING),
        (replace(QUIET, begun=0.95, stopped=0.95, upper_day_pt=2.0), Verdict.POSSIBLY_STOPPED),
        (replace(QUIET, begun=0.95, stopped=0.85, upper_day_pt=2.0), Verdict.SLOWING),
        (replace(BUSY, begun=0.7), Verdict.WAITING),
        (replace(BUSY, begun=0.7, foam_seen=True), Verdict.WORKING),
        (replace(BUSY, hour=8), Verdict.WAITING),
        (IDLE, Verdict.NOT_STARTED),
        (replace(IDLE, idle=0.6), Verdict.WAITING),
        (replace(IDLE, hour=50, warped=50), Verdict.WAITING),
        (replace(IDLE, hour=160, warped=80), Verdict.UNKNOWN),
        (replace(IDLE, hidden=0.7), Verdict.UNKNOWN),
        (replace(IDLE, moved_h_ago=20.0), Verdict.UNKNOWN),
        (replace(IDLE, moved_h_ago=60.0), Verdict.NOT_STARTED),
        (replace(IDLE, drop_seen_pt=6.0), Verdict.WORKING),
        (replace(IDLE, foam_seen=True), Verdict.WORKING),
        (replace(IDLE, idle=0.5, width_pt=30), Verdict.UNKNOWN),
    ],
)
def test_each_state_has_its_word(found: Findings, verdict: Verdict) -> None:
    said = word(found)

    assert said.verdict is verdict
    assert said.evidence
    assert all(sentence.endswith(".") for sentence in said.evidence)


def read(attenuation: float, hour: float = 160, left: float = 0.5, error: float = 0.8) -> Late:
    return Late(hour, attenuation, left, error)


@pytest.mark.parametrize(
    "readings, verdict",
    [
        ((read(0.75),), Verdict.FINISHED),
        ((read(0.69),), Verdict.FINISHED),
        ((read(0.65),), Verdict.POSSIBLY_STOPPED),
        ((read(0.65, 130), read(0.65)), Verdict.FINISHED),
        ((read(0.65, 150), read(0.65)), Verdict.POSSIBLY_STOPPED),
        ((read(0.58, 130), read(0.65)), Verdict.POSSIBLY_STOPPED),
        ((read(0.55),), Verdict.STOPPED_EARLY),
        ((read(0.55, 130), read(0.55)), Verdict.STOPPED_EARLY),
        ((read(0.75, left=5.0),), Verdict.ENDED),
        ((read(0.75, error=2.5),), Verdict.ENDED),
    ],
)
def test_only_a_direct_reading_after_the_end_settles_it(readings: tuple[Late, ...], verdict: Verdict) -> None:
    assert word(replace(QUIET, readings=readings)).verdict is verdict


def test_the_yeasts_range_and_a_limit_jar_say_what_is_enough() -> None:
    one = (read(0.72),)

    assert word(replace(QUIET, readings=one, low_attenuation=0.78)).verdict is Verdict.POSSIBLY_STOPPED
    assert word(replace(QUIET, readings=one, jar_attenuation=0.82)).verdict is Verdict.POSSIBLY_STOPPED
    assert word(replace(QUIET, readings=one, jar_attenuation=0.74)).verdict is Verdict.FINISHED
    assert word(replace(QUIET, readings=(read(0.62),), jar_attenuation=0.64)).verdict is Verdict.FINISHED


def test_it_says_that_heat_cannot_tell_a_stop_from_an_end_where_it_cannot() -> None:
    open_ = word(replace(QUIET, stopped=0.2))
    sure = word(replace(QUIET, stopped=0.01))

    assert any("stopped early" in sentence for sentence in open_.evidence)
    assert not any("stopped early" in sentence for sentence in sure.evidence)
