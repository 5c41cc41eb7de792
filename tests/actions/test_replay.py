"""A finished batch scored: forecasts and estimates against what happened."""

from datetime import timedelta
from typing import Any

from service.actions.lookout import Lookout
from tests.actions.brewed import brewed
from tests.rig import START, Rig, with_batch
from tests.thermal.build import batch

MADE = batch(140, volume_l=10.0)


def finished(rig: Rig, readings: tuple[int, ...] = (48, 100, 126)) -> str:
    """A batch pitched 130 hours ago with true readings at these hours, ended an hour ago."""
    name = brewed(rig, 130, MADE)
    for hour in readings:
        at = START - timedelta(hours=130 - hour)
        rig.post(f"/batches/{name}/readings", {"sg": round(MADE.sg[hour], 4), "at": at.isoformat()})
    ended = (START - timedelta(hours=1)).isoformat()
    rig.post(f"/batches/{name}/advance", {"to": "end", "at": ended})
    return name


def scores(rig: Rig, name: str) -> Any:
    return rig.get(f"/batches/{name}/summary")["scores"]


def test_an_ended_batch_is_scored_and_its_summary_shows_the_scores(rig: Rig) -> None:
    name = finished(rig)
    assert scores(rig, name) is None

    Lookout(rig.desk).look(name)

    told = scores(rig, name)
    assert told["forecast"]["n"] == 9
    assert told["forecast"]["rms"] < min(0.5, told["forecast"]["same_rms"])
    assert told["estimate"]["n"] == 3
    assert told["estimate"]["rms"] < 4
    assert told["estimate"]["same_rms"] > 5
    assert "intervals held" in told["forecast"]["sentence"]


def test_a_batch_without_readings_has_no_score_of_gravity(rig: Rig) -> None:
    name = finished(rig, ())

    Lookout(rig.desk).look(name)

    assert scores(rig, name)["estimate"] is None


def test_a_scored_batch_is_not_looked_at_again(rig: Rig) -> None:
    name = finished(rig, ())
    lookout = Lookout(rig.desk)
    assert set(lookout.wanted()) == {name}

    lookout.look(name)

    assert lookout.wanted() == {}


def test_a_batch_too_short_to_compare_is_scored_with_nothing(rig: Rig) -> None:
    name = with_batch(rig, og=1.045)
    rig.clock.forward(3600)
    rig.post(f"/batches/{name}/advance", {"to": "end"})
    rig.clock.forward(3600)

    Lookout(rig.desk).look(name)

    assert (scores(rig, name)["forecast"], scores(rig, name)["estimate"]) == (None, None)
