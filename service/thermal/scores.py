"""How far forecasts and estimates of a finished batch could be trusted: said against what happened."""

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Said:
    """One value said with its interval, what happened, and what "the same as now" would have said."""

    value: float
    low: float
    high: float
    happened: float
    same_as_now: float | None = None


@dataclass(frozen=True, slots=True)
class Score:
    """rms: error of what was said; same_rms: of "the same as now"; holds: share of intervals that held."""

    n: int
    rms: float
    bias: float
    holds: float
    same_rms: float | None

    def sentence(self, unit: str) -> str:
        """The score in words, for a brewer. unit: `C` or `points`."""
        held = f"{100 * self.holds:.0f} % of the {self.n} intervals held"
        if self.same_rms is None:
            return f"It was {self.rms:.1f} {unit} off on average; {held}."
        return f"It was {self.rms:.1f} {unit} off, staying the same {self.same_rms:.1f} {unit}; {held}."


def score(said: Sequence[Said]) -> Score | None:
    """The score of a batch, None when nothing can be compared."""
    if not said:
        return None
    n = len(said)
    errors = [s.value - s.happened for s in said]
    same = [s.same_as_now - s.happened for s in said if s.same_as_now is not None]
    return Score(
        n=n,
        rms=math.sqrt(sum(e * e for e in errors) / n),
        bias=sum(errors) / n,
        holds=sum(s.low <= s.happened <= s.high for s in said) / n,
        same_rms=math.sqrt(sum(e * e for e in same) / len(same)) if same else None,
    )
