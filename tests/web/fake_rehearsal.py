"""A rehearsal with something of everything, whatever was asked."""

import math
from collections.abc import Sequence
from datetime import datetime, timedelta

from web.rehearsing import RehearsalView, StageSpan, StrayView
from web.views import AheadPoint

HOURS = 96


def rehearsal(now: datetime, stages: Sequence[str], backwards: bool) -> RehearsalView:
    """Four days a stage: warm in the first, never cold enough in the last."""
    hour = timedelta(hours=1)
    points = [
        AheadPoint(
            now + n * hour,
            19 + 2.5 * math.exp(-(((n - 40) / 20) ** 2)),
            18 + 2.5 * math.exp(-(((n - 40) / 20) ** 2)),
            20 + 2.5 * math.exp(-(((n - 40) / 20) ** 2)),
            18.0 if n < HOURS else 0.0,
            21.0 if n < HOURS else 5.0,
        )
        for n in range(HOURS * len(stages))
    ]
    last = points[-1].at
    return RehearsalView(
        points=points,
        stages=[
            StageSpan(key, now + n * HOURS * hour, now + (n + 1) * HOURS * hour)
            for n, key in enumerate(stages)
        ],
        strays=[StrayView(now + 30 * hour, now + 50 * hour, "warm", 21.5, stages[0])],
        unreachable=[(stages[-1], "This place does not get below 19 C.")] if last > now else [],
        advice=["A room 2 C cooler would keep it in its band."],
        days=["Pitch by 2026-12-01 10:00 UTC to have it ready on 2026-12-20."] if backwards else [],
    )
