"""Batches side by side: invented curves, one with a gap, and lines that differ and that do not."""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from tests.web import fakes
from web.comparing import ComparedView, ComparisonView, DifferenceView
from web.pages.batches import BatchView, ScoreView

DAY = timedelta(days=1)


def ended(now: datetime) -> BatchView:
    """A batch of last month in the larger vessel."""
    return replace(
        fakes.brew(now - 40 * DAY),
        id="autumn-2026-10-13",
        name="Autumn brown",
        state="ended",
        ended_at=now - 20 * DAY,
        next_key=None,
        progress=None,
        scores=(
            ScoreView("Temperature, 12 hours ahead", 21, 0.31, 0.08, 0.905, 0.62, "C", "Off by 0.31 C."),
            ScoreView("Gravity, just before a reading", 3, 1.4, -0.6, 1.0, None, "points", "Off by 1.4."),
        ),
    )


def comparison(brews: Sequence[BatchView]) -> ComparisonView:
    """These batches from a day before pitching to nine days after."""
    hours = range(-24, 216)

    def beer(n: int, hour: int) -> float | None:
        if n == 1 and 100 <= hour < 130:
            return None
        return 18.5 + n + (2 + n / 2) * math.exp(-(((hour - 40 - 10 * n) / 25) ** 2))

    return ComparisonView(
        batches=[
            ComparedView(
                b.id, b.name, b.state, b.pitched_at or b.started_at, "pitching" if b.pitched_at else "start"
            )
            for b in brews
        ],
        hours=list(hours),
        liquids=[[beer(n, hour) for hour in hours] for n in range(len(brews))],
        differences=[
            DifferenceView("plan", None, ["Stair brown"] * len(brews), None, True),
            DifferenceView(
                "original gravity", "SG", [1.048, 1.046, *[None] * (len(brews) - 2)], 0.002, False
            ),
            DifferenceView("mean until packaging", "C", [19.1 + n for n in range(len(brews))], 1.0, False),
            DifferenceView("strays", None, [float(n) for n in range(len(brews))], 1.0, False),
            DifferenceView("packaged", "l", [None] * len(brews), None, True),
        ],
    )
