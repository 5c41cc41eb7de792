"""What becomes an alarm: only what two fits some hours apart agree on."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from service.alarms.rules import Heading
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
