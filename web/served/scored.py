"""The kept scores of an ended batch's replay, as its page shows them. Pure."""

from typing import Any

from service.actions.insight_answers import ScoresAnswer
from web.pages.batches import ScoreView

WHAT = (
    ("forecast", "Temperature, 12 hours ahead", "C"),
    ("estimate", "Gravity, just before a reading", "points"),
)


def scores_of(kept: Any) -> tuple[ScoreView, ...]:
    """Forecast and estimate, each where there was something to compare it with."""
    if kept is None:
        return ()
    scores = ScoresAnswer.model_validate(kept)
    found = ((what, unit, getattr(scores, name)) for name, what, unit in WHAT)
    return tuple(
        ScoreView(what, s.n, s.rms, s.bias, s.holds, s.same_rms, unit, s.sentence)
        for what, unit, s in found
        if s is not None
    )
