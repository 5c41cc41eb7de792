"""What estimate and outlook say on a strip, and that no page waits for what lies ahead."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from service.actions.answers import Interval
from service.actions.insight_answers import AheadPoint, CallAnswer, ForecastAnswer, UnattendedAnswer
from service.record.estimates import KeptEstimate
from service.thermal.results import Verdict
from tests.rig import Rig
from tests.web.fakes import NOON, H
from web.served.foreseen import VERDICTS, ahead_of, evidence_of, leaving_of, next_of, progress_of
from web.served.outlook import FRESH, STALE, Outlook, Outlooks
from web.views import StageView, TimedWords

SHARE = {"value": 0.62, "low": 0.55, "high": 0.7}
KEPT = KeptEstimate(NOON - H, {"verdict": "slowing", "share": SHARE, "evidence": ["Less heat than before."]})
POINT = AheadPoint(
    at=NOON, temp_c=20, low90_c=19, high90_c=21, target_c=None, low_c=18, high_c=22, stage="primary"
)


def outlook(until: object, *calls: CallAnswer) -> Outlook:
    leaving = UnattendedAnswer.model_validate({"until": until, "because": "It may warm up.", "next": calls})
    return Outlook(NOON, 1, ForecastAnswer(points=[POINT], leaves_band_at=None, advice=[]), leaving)


def test_every_verdict_has_its_words() -> None:
    assert set(VERDICTS) == set(Verdict)
    assert Interval(value=1, low=0, high=2).value == 1


def test_progress_is_said_with_its_interval_and_its_reasons() -> None:
    seen = progress_of([KEPT], NOON)

    assert seen is not None
    assert (seen.verdict, seen.share, seen.low, seen.high) == ("Working, past its peak.", 0.62, 0.55, 0.7)
    assert evidence_of([KEPT], NOON) == ("Less heat than before.",)


def test_an_old_estimate_says_nothing_of_a_batch_that_runs() -> None:
    later = NOON + 8 * H

    assert progress_of([KEPT], later) is None
    assert evidence_of([KEPT], later) == ()
    assert progress_of([KEPT], later, ended=True) is not None
    assert progress_of([], NOON) is None


def test_what_lies_ahead_is_drawn_with_its_interval_and_band() -> None:
    (point,) = ahead_of(outlook(None))

    assert (point.temp_c, point.low90_c, point.high90_c, point.low_c, point.high_c) == (20, 19, 21, 18, 22)
    assert ahead_of(None) == ()


def test_without_a_time_the_reason_alone_is_said() -> None:
    assert leaving_of(outlook(None)) == (None, "It may warm up.")
    assert leaving_of(outlook(NOON + H)) == (TimedWords(NOON + H, "It may warm up."), "")
    assert leaving_of(None) == (None, "")


DUE = TimedWords(NOON - H, "Dry hops")
CALL = CallAnswer(at=NOON + 5 * H, because="Take a reading.")
STAGE = StageView("primary", "primary", NOON - H, NOON + 9 * H)


@pytest.mark.parametrize(
    ("due", "seen", "stage", "words"),
    [
        (DUE, outlook(None, CALL), STAGE, "Dry hops"),
        (None, outlook(None, CALL), STAGE, "Take a reading"),
        (None, outlook(None), STAGE, "The end of primary"),
        (None, outlook(None, CallAnswer(at=NOON - H, because="Past.")), STAGE, "The end of primary"),
        (None, None, None, None),
    ],
)
def test_next_is_what_is_asked_then_what_will_be_then_the_end_of_the_stage(
    due: TimedWords | None, seen: Outlook | None, stage: StageView | None, words: str | None
) -> None:
    found = next_of(due, seen, stage, NOON)

    assert (None if found is None else found.words) == words


@pytest.fixture
def batch(rig: Rig) -> str:
    """A batch that has just been started."""
    vessel = rig.client.post("/api/v1/vessels", json={"name": "Bucket", "volume_l": 5}).json()["id"]
    stage = {"key": "primary", "kind": "primary", "target_c": 19, "ends": "brewer"}
    plan = {"name": "Try", "stages": [stage]}
    body = {"name": "Try", "vessel_id": vessel, "plan": plan}
    return str(rig.client.post("/api/v1/batches", json=body).json()["id"])


class Later:
    """Keeps what should be run beside the pages until it is let go."""

    def __init__(self) -> None:
        self.waiting: list[Callable[[], None]] = []

    def __call__(self, work: Callable[[], None]) -> None:
        self.waiting.append(work)

    def go(self) -> None:
        waiting, self.waiting = self.waiting, []
        for work in waiting:
            work()


def test_nobody_waits_for_an_outlook_and_it_is_made_once(rig: Rig, batch: str) -> None:
    later = Later()
    outlooks = Outlooks(rig.desk, later)

    assert outlooks.of(batch, 1) is None
    assert outlooks.of(batch, 1) is None
    assert len(later.waiting) == 1
    later.go()

    seen = outlooks.of(batch, 1)
    assert seen is not None
    assert seen.at == rig.clock.at
    assert later.waiting == []


def test_one_that_is_not_fresh_is_shown_until_the_next_is_there_and_a_stale_one_is_not(
    rig: Rig, batch: str
) -> None:
    later = Later()
    outlooks = Outlooks(rig.desk, later)
    outlooks.of(batch, 1)
    later.go()

    rig.clock.forward(FRESH.total_seconds() + 1)
    assert outlooks.of(batch, 1) is not None
    assert len(later.waiting) == 1

    rig.clock.forward((STALE - FRESH).total_seconds())
    assert outlooks.of(batch, 1) is None
    later.go()
    assert outlooks.of(batch, 1) is not None


def test_a_changed_batch_is_not_shown_what_was_foreseen_before(rig: Rig, batch: str) -> None:
    later = Later()
    outlooks = Outlooks(rig.desk, later)
    outlooks.of(batch, 1)
    later.go()

    assert outlooks.of(batch, 2) is None
    later.go()

    assert outlooks.of(batch, 2) is not None


def test_a_batch_that_does_not_exist_is_asked_for_again(rig: Rig) -> None:
    later = Later()
    outlooks = Outlooks(rig.desk, later)

    for _ in range(2):
        assert outlooks.of("nothing", 1) is None
        assert len(later.waiting) == 1
        later.go()
    assert timedelta(0) < FRESH < STALE
