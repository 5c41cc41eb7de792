"""What was written down about the larger vessel's batch: invented."""

from datetime import datetime, timedelta

from tests.web.fakes import NOON, H
from web.bench import CHECKS, BenchView, CheckView, EntryView, ReadinessView
from web.pages.calibration import PastCalibration
from web.pages.stove import StoveView
from web.views import BandView, Freshness, StageView, TimedWords, VesselView


def record(now: datetime = NOON) -> BenchView:
    """What was written down about the larger vessel's batch."""
    unmet = {
        "readings-steady": "One direct reading; two of one kind are needed.",
        "readings-far-enough-apart": "They must lie 48 h apart.",
    }
    checks = tuple(
        CheckView(words, name not in unmet, unmet.get(name, "It is so by what was measured."))
        for name, words in CHECKS.items()
    )
    cautions = ("A bottle that holds too much gas can burst. Wear eye protection.",)
    return BenchView(
        ReadinessView(False, checks, "Take another hydrometer reading.", now + 30 * H, cautions),
        {
            "readings": (
                EntryView(2, now - 18 * H, "Hydrometer: 1.0140 SG at 21.0 C", 1.0142, 1.0131, 1.0153),
                EntryView(1, now - 70 * H, "Weight: 6.200 kg"),
            ),
            "sightings": (EntryView(1, now - 30 * H, "Foam has fallen"),),
            "additions": (EntryView(1, now - 40 * H, "Dry hops: 12 g"),),
            "notes": (EntryView(1, now - 2 * H, "Moved it one stair down, where it is cooler."),),
        },
    )


def calibrations(now: datetime = NOON) -> list[PastCalibration]:
    """A probe calibrated twice, the second time oddly."""
    odd = ("It is off by more than a sound part shows. Look whether water has come in.",)
    return [
        PastCalibration(2, now - 5 * H, now - 5 * H, 0.9912, 0.24, 0.21, ((-0.25, 0.0), (99.1, 98.3)), odd),
        PastCalibration(1, now - 6 * H, now - 6 * H, 1.0, 0.25, 0.34, ((-0.25, 0.0),)),
    ]


def stoves(now: datetime = NOON) -> list[StoveView]:
    """A batch in its mash with something wanted, and the larger vessel's batch that has left the kettle."""
    minute = timedelta(minutes=1)
    kettle = VesselView(
        "kettle",
        "Kettle",
        "kettle",
        Freshness.FRESH,
        66.2,
        now - timedelta(seconds=4),
        BandView(67.0, 65.5, 68.5),
        trend_c_per_h=-2.4,
    )
    return [
        StoveView(
            "small-2026-11-25",
            "Small pale",
            True,
            StageView("mash", "mash", now - 36 * minute, now + 24 * minute),
            kettle,
            (TimedWords(now - minute, "Stir, and look at the temperature."),),
            (TimedWords(now + 14 * minute, "Heat the sparge water."),),
            "boil",
            "the last change",
        ),
        StoveView(
            "brown-2026-11-22",
            "Winter brown",
            False,
            StageView("primary", "primary", now - 70 * H, None),
            undo="the last change",
        ),
    ]
