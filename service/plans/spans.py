"""The bands of a batch over a stretch of time, as pieces a chart can draw."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from service.plans.band import SEA_LEVEL_BOILING_C, band_at
from service.plans.model import Plan, Ramp, Stage
from service.plans.moments import moment
from service.plans.step import Course, stage_of

_PIECES_OF_A_RAMP = 48
_SHORTEST_PIECE_S = 1.0


@dataclass(frozen=True, slots=True)
class BandSpan:
    """A stretch of one stage with one band; aware UTC, C, None where there is no limit.

    In a ramp the band of a piece is that of its middle.
    """

    from_at: datetime
    to_at: datetime
    stage: str
    target_c: float | None
    low_c: float | None
    high_c: float | None


def bands_between(
    plan: Plan,
    course: Course,
    from_at: datetime,
    to_at: datetime,
    every_s: float | None = None,
    boiling_c: float = SEA_LEVEL_BOILING_C,
) -> list[BandSpan]:
    """The bands from `from_at` to `to_at`, without gap while the batch lasted, in order of time.

    A ramp is cut into pieces of `every_s` (at least 1 s; None: into 48 pieces), counted from the entry
    of its stage, so that the pieces do not depend on what is asked for. A step that runs reaches to `to_at`.
    """
    from_at, to_at = moment(from_at, "/from"), moment(to_at, "/to")
    spans = []
    for step in course.steps:
        stage = stage_of(plan, step)
        begins = max(step.entered_at, from_at)
        ends = to_at if step.left_at is None else min(step.left_at, to_at)
        cuts = [at for at in _cuts(stage, step.entered_at, begins, ends, every_s) if begins < at < ends]
        edges = [begins, *cuts, ends]
        for a, b in pairwise(edges):
            if a < b:
                band = band_at(stage, step.entered_at, a + (b - a) / 2, boiling_c)
                spans.append(BandSpan(a, b, stage.key, band.target_c, band.low_c, band.high_c))
    return spans


def _cuts(
    stage: Stage, entered_at: datetime, begins: datetime, ends: datetime, every_s: float | None
) -> Iterator[datetime]:
    """Where the ramp of a stage is cut, of what lies between two times, and where it ends."""
    ramp = stage.target_c
    if not isinstance(ramp, Ramp):
        return
    piece_s = max(ramp.over_s / _PIECES_OF_A_RAMP if every_s is None else every_s, _SHORTEST_PIECE_S)
    i = max(int((begins - entered_at).total_seconds() / piece_s), 1)
    while i * piece_s < ramp.over_s and (at := entered_at + timedelta(seconds=i * piece_s)) < ends:
        yield at
        i += 1
    yield entered_at + timedelta(seconds=ramp.over_s)
