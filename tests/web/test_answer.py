"""The first sentence, and the words for where a vessel lies."""

from dataclasses import replace

import pytest

from tests.web import fakes
from tests.web.fakes import NOON, H
from web.answer import BandPlace, answer, place
from web.summary import day_sentence, position_words, stage_left, trend_words
from web.views import AlarmState, AlarmView, BandView, Freshness, HourRow, StageView, VesselView
from web.words import Taste

WELL = fakes.larger()
NAME = WELL.name
WARM = fakes.smaller()
BARE = VesselView("pot", "Pot", "kettle", Freshness.FRESH, 20.0, NOON)


@pytest.mark.parametrize(
    "vessels, alarms, sentence, wants",
    [
        ([], [], "No vessel yet.", False),
        ([WELL], [], "Bucket by the stairs lies in its band.", False),
        ([WELL, replace(WELL, name="Cask")], [], f"{NAME} and Cask both lie in their bands.", False),
        ([WELL] * 3, [], "All three vessels lie in their bands.", False),
        ([BARE], [], "Nothing is being compared with a plan.", False),
        ([WELL, BARE], [], f"{NAME} lies in its band; one other is not compared with a plan.", False),
        ([WARM], [], "Demijohn lies outside the band.", True),
        ([WELL, WARM], [fakes.warm()], "One thing wants you: Demijohn.", True),
        ([WELL, WARM], [fakes.warm(), fakes.silence()], f"Two things want you: {NAME} and Demijohn.", True),
        ([WELL], [replace(fakes.warm(), vessel_name=None)], "One thing wants you: gylewatch itself.", True),
        (
            [fakes.gone_silent(WELL)],
            [replace(fakes.silence(), state=AlarmState.ACKNOWLEDGED)],
            "No reading from Bucket by the stairs: nobody knows how it is there.",
            True,
        ),
    ],
)  # fmt: skip
def test_the_first_sentence_answers(
    vessels: list[VesselView], alarms: list[AlarmView], sentence: str, wants: bool
) -> None:
    found = answer(vessels, alarms)

    assert (found.sentence, found.wants_hand) == (sentence, wants)


@pytest.mark.parametrize("state", [AlarmState.SHELVED, AlarmState.SUPPRESSED, AlarmState.ACKNOWLEDGED])
def test_shelving_an_alarm_does_not_turn_a_stray_into_all_well(state: AlarmState) -> None:
    found = answer([WARM], [fakes.warm(state=state)])

    assert found.sentence == "Demijohn lies outside the band."


@pytest.mark.parametrize(
    "temp_c, band, where, words",
    [
        (20.0, BandView(20.0, 18.5, 21.5), BandPlace.IN, "in the band, at the target"),
        (21.5, BandView(20.0, 18.5, 21.5), BandPlace.IN, "in the band, 1.5 C over the target"),
        (18.5, BandView(20.0, 18.5, 21.5), BandPlace.IN, "in the band, 1.5 C under the target"),
        (21.6, BandView(20.0, 18.5, 21.5), BandPlace.ABOVE, "0.1 C above the band"),
        (18.0, BandView(20.0, 18.5, 21.5), BandPlace.BELOW, "0.5 C below the band"),
        (1.0, BandView(None, None, 4.0), BandPlace.IN, "in the band"),
        (1.0, BandView(2.0, None, None), BandPlace.NO_BAND, "no band to compare with"),
        (1.0, None, BandPlace.NO_BAND, "no band to compare with"),
    ],
)
def test_the_place_is_told_against_the_band(
    temp_c: float, band: BandView | None, where: BandPlace, words: str
) -> None:
    vessel = replace(BARE, temp_c=temp_c, band=band)

    assert place(vessel) is where
    assert position_words(vessel, Taste()) == words


def test_a_silent_vessel_lies_nowhere() -> None:
    silent = fakes.gone_silent(WELL)

    assert place(silent) is BandPlace.UNKNOWN
    assert position_words(silent, Taste()) == "not known"


@pytest.mark.parametrize(
    "trend, words",
    [(None, ""), (0.01, "steady"), (0.12, "rising 0.12 C an hour"), (-0.4, "falling 0.40 C an hour")],
)
def test_the_heading_is_told_in_words(trend: float | None, words: str) -> None:
    assert trend_words(replace(BARE, trend_c_per_h=trend), Taste(), NOON) == words


def test_the_day_is_told_with_its_ends_and_its_gaps() -> None:
    rows = [
        HourRow(NOON - 2 * H, 19.0, 18.9, 19.2),
        HourRow(NOON - H, None, None, None),
        HourRow(NOON, 20.0, 19.8, 20.1),
    ]

    words = day_sentence(rows, Taste())

    assert words == (
        "Over the last day it lay between 18.9 C (about 10:05) and 20.1 C (about 12:05). "
        "Nothing was measured for 1 h of it."
    )


def test_a_day_without_a_measurement_says_so() -> None:
    assert (
        day_sentence([HourRow(NOON, None, None, None)], Taste()) == "Nothing was measured over the last day."
    )
    assert day_sentence([], Taste()) == "Nothing was measured over the last day."


@pytest.mark.parametrize(
    "ends, words", [(NOON + 3 * H, "3 h left"), (NOON - 3 * H, "3 h over its time"), (None, "")]
)
def test_a_stage_says_how_long_it_lasts_or_that_it_is_over(ends: object, words: str) -> None:
    stage = StageView("rest", "rest", NOON - 5 * H, ends)  # type: ignore[arg-type]

    assert stage_left(replace(BARE, stage=stage), NOON) == words
