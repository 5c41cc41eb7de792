"""What becomes an alarm: only what two fits some hours apart agree on."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from service.alarms.rules import Heading
from service.plans.dues import ShareReached
from service.record.estimates import KeptEstimate
from service.watch.evidence import Insight
from service.watch.insights import insight_from

NOW = datetime(2026, 11, 25, 8, tzinfo=UTC)


def kept(*words: tuple[float, str], **more: Any) -> list[KeptEstimate]:
    """Estimates some hours ago, newest first."""
    return [
        KeptEstimate(
            NOW - timedelta(hours=ago), {"verdict": word, "evidence": ["So it is."], "share": None, **more}
        )
        for ago, word in words
    ]


def test_the_time_constant_of_a_vessel_is_known_from_an_old_fit_too() -> None:
    old = kept((30, "finished"), thermal={"tau_h": 9.5})
    newer = kept((1, "finished"), thermal=None)

    assert insight_from(old, NOW).tau_h == 9.5
    assert insight_from([*newer, *old], NOW).tau_h == 9.5
    assert insight_from(newer, NOW).tau_h is None
    assert insight_from([], NOW).tau_h is None


WORDS = ("not_started", "stopped_early", "sample_due", "disturbed", "activity_ended")


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("not-started", "not_started"),
        ("stopped-early", "stopped_early"),
        ("ended", "sample_due"),
        ("possibly-stopped", "sample_due"),
        ("disturbed", "disturbed"),
        ("finished", "activity_ended"),
    ],
)
def test_a_word_counts_once_an_earlier_fit_agrees(word: str, name: str) -> None:
    alone = insight_from(kept((0, word)), NOW)
    agreed = insight_from(kept((0, word), (4, word)), NOW)
    changed = insight_from(kept((0, word), (4, "working")), NOW)

    assert getattr(alone, name) in (None, False)
    assert getattr(agreed, name) is True
    assert getattr(changed, name) in (None, False)


@pytest.mark.parametrize("apart", [1.0, 2.9, 12.1])
def test_fits_too_close_or_too_far_apart_confirm_nothing(apart: float) -> None:
    found = insight_from(kept((0, "not-started"), (apart, "not-started")), NOW)

    assert found.not_started is None


def test_a_fit_that_sees_activity_takes_the_words_back() -> None:
    found = insight_from(kept((0, "working"), (4, "not-started")), NOW)

    assert [getattr(found, name) for name in WORDS] == [False] * 5


@pytest.mark.parametrize("word", ["unknown", "waiting"])
def test_not_knowing_neither_raises_nor_clears(word: str) -> None:
    found = insight_from(kept((0, word), (4, "not-started")), NOW)

    assert [getattr(found, name) for name in WORDS] == [None] * 5


def test_old_estimates_say_nothing_any_more() -> None:
    heading = Heading(None)

    found = insight_from(kept((7, "ended"), (11, "ended")), NOW, heading, adrift=False)

    assert found == Insight(heading=heading, adrift=False)


def test_nobody_is_asked_to_measure_who_has_just_measured() -> None:
    estimates = kept((0, "possibly-stopped"), (4, "possibly-stopped"))

    lately = insight_from(estimates, NOW, last_reading_at=NOW - timedelta(hours=5))
    long_ago = insight_from(estimates, NOW, last_reading_at=NOW - timedelta(hours=30))

    assert (lately.sample_due, long_ago.sample_due) == (False, True)


def test_beer_cooled_on_purpose_is_not_called_disturbed() -> None:
    found = insight_from(kept((0, "disturbed"), (4, "disturbed")), NOW, cooled=True)

    assert found.disturbed is False


def test_share_and_reasons_go_along() -> None:
    found = insight_from(kept((0, "working"), share={"value": 0.4, "low": 0.3, "high": 0.5}), NOW)

    assert (found.share_fermented, found.evidence) == (0.4, "So it is")


def shared(*values: tuple[float, float, float], progress: tuple[float, ...] = ()) -> list[KeptEstimate]:
    """Estimates some hours ago, newest first: hours, middle and upper end of the share."""
    return [
        KeptEstimate(
            NOW - timedelta(hours=ago),
            {
                "verdict": "slowing",
                "share": {"value": value, "low": 0.0, "high": high},
                "thermal": {"progress": list(progress)},
            },
        )
        for ago, value, high in values
    ]


@pytest.mark.parametrize(
    ("kept", "reached"),
    [
        (shared((0, 0.81, 0.9), (4, 0.75, 0.85)), True),
        (shared((0, 0.79, 0.9), (4, 0.75, 0.85)), False),
        (shared((0, 0.81, 0.9), (4, 0.60, 0.70)), False),
        (shared((0, 0.81, 0.9)), False),
        (shared((0, 0.78, 0.9), (1, 0.81, 0.9), (4, 0.75, 0.85)), True),
        (shared((0, 0.70, 0.9), (1, 0.81, 0.9), (4, 0.75, 0.85)), False),
    ],
)
def test_a_share_counts_by_its_middle_once_an_earlier_fit_held_it_possible(
    kept: list[KeptEstimate], reached: bool
) -> None:
    found = insight_from(kept, NOW, wanted_share=0.8)

    assert (found.share_reached is not None) is reached
    assert insight_from(kept, NOW).share_reached is None


def test_a_share_is_reached_at_the_hour_the_estimate_says() -> None:
    kept = shared((0, 0.9, 0.95), (4, 0.85, 0.9), progress=(0.0, 0.5, 0.82, 0.85, 0.88, 0.9))

    assert insight_from(kept, NOW, wanted_share=0.8).share_reached == ShareReached(
        0.8, NOW - timedelta(hours=3)
    )
