"""How far the fermentation is: the estimate of a batch, at any moment, and what of it is kept."""

import hashlib
import json
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection

from service.actions.answers import Interval
from service.actions.desk import Desk
from service.actions.insight_answers import (
    EstimateAnswer,
    FitAnswer,
    GravityInterval,
    StoryWeights,
    TimeInterval,
)
from service.actions.known import LONGEST, known, told_moment
from service.actions.room import read_by_hand_words
from service.actions.wire import as_text
from service.errors import InvalidInputError, Problem
from service.record.batches import batch_by_id
from service.record.entries import LISTS, entries
from service.record.estimates import kept_estimates
from service.record.facts import Batch
from service.thermal.inputs import EstimateInput
from service.thermal.jobs import to_json
from service.thermal.results import Estimate, Verdict
from service.watch.fits import WorkerFailedError

FRESH = timedelta(minutes=15)
"""An estimate of now is not made anew within this time unless something was told meanwhile."""

STALE_C = timedelta(hours=2)
LOOKED_AT = LONGEST - timedelta(days=1)
TOLD = "told"
"""Member of a kept estimate: what it was told, so that a change of it is seen."""


def estimate_of(desk: Desk, batch_id: str, at: datetime | None) -> EstimateAnswer:
    """What is known of the fermentation at a time; now, or the batch's end, unless said."""
    now = desk.now()
    if at is not None and at > now:
        raise InvalidInputError(
            Problem("/at", "lies in the future", "Ask for the forecast, or give a time that has passed.")
        )
    with desk.record.reading() as connection:
        row = batch_by_id(connection, batch_id)
        fresh = kept_estimates(connection, batch_id) if at is None else []
        told = told_of(connection, row)
    if fresh and now - fresh[0].at < FRESH and fresh[0].body.get(TOLD) == told:
        return answer_of(fresh[0].body)
    return answer_of(computed(desk, row, at or now))


def computed(desk: Desk, row: Batch, at: datetime) -> dict[str, Any]:
    """An estimate made now by a worker, as plain JSON; `unknown` with the reason when that fails."""
    with desk.record.reading() as connection:
        told = told_of(connection, row)
        moment = told_moment(row, at)
        given = known(connection, desk.watch.house, row, moment)
        by_hand = read_by_hand_words(connection, desk.watch.house, row, moment)
    try:
        found: dict[str, Any] = desk.worker.ask({"kind": "estimate", "input": to_json(given)})["answer"]
    except WorkerFailedError as failed:
        found = to_json(Estimate(moment, Verdict.UNKNOWN, evidence=(str(failed),)))
    found["evidence"] = [*found["evidence"], *_remarks(given, moment, at), *by_hand]
    return {**found, TOLD: told}


def told_of(connection: Connection, row: Batch) -> str:
    """A short mark of everything that people told of a batch; it changes when they tell more."""
    told = [(name, e.n, as_text(e.at), e.body) for name in LISTS for e in entries(connection, row.id, name)]
    whole = json.dumps([row.version, told], default=str, sort_keys=True)
    return hashlib.sha256(whole.encode()).hexdigest()[:16]


def _remarks(given: EstimateInput, moment: datetime, asked: datetime) -> list[str]:
    """What the brewer should know beside the fit's own reasons."""
    said = []
    if moment < asked:
        said.append(f"As it was when the beer left the fermenter, {as_text(moment)}.")
    beer = given.beer
    if beer is not None and beer.minutes:
        last = beer.start + timedelta(minutes=beer.minutes[-1])
        if moment - last > STALE_C and given.pitched_at and last - given.pitched_at < LOOKED_AT:
            hours = (moment - last).total_seconds() / 3600
            said.append(f"The beer's last temperature is {hours:.0f} hours old.")
    return said


def answer_of(body: Mapping[str, Any]) -> EstimateAnswer:
    """A worker's answer in the shape of the HTTP contract."""
    gravity, finish, weights, fit = (body.get(k) or {} for k in ("gravity", "finish", "weights", "fit"))
    return EstimateAnswer(
        at=body["at"],
        verdict=body["verdict"],
        gravity=GravityInterval(sg=gravity.get("value"), low=gravity.get("low"), high=gravity.get("high")),
        share=_interval(body.get("share")),
        rate_pt_per_day=_interval(body.get("rate_pt_per_day")),
        finish=TimeInterval(at=finish.get("at"), low=finish.get("low"), high=finish.get("high")),
        heat_w=_interval(body.get("heat_w")),
        weights=StoryWeights(
            normal=weights.get("normal"),
            stopped_early=weights.get("stopped_early"),
            not_started=weights.get("not_started"),
        ),
        evidence=list(body.get("evidence") or ()),
        fit=FitAnswer(
            residual_c=fit.get("residual_c"),
            tau_h=_interval(fit.get("tau_h")),
            minutes_used=fit.get("minutes_used"),
            readings_used=fit.get("readings_used"),
        ),
    )


def _interval(given: Mapping[str, Any] | None) -> Interval:
    given = given or {}
    return Interval(value=given.get("value"), low=given.get("low"), high=given.get("high"))
