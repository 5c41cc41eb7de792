"""Bottles that carbonate: what they hold by now, from their own sugar, warmth and witness bottle."""

from datetime import datetime, timedelta

from sqlalchemy import Connection

from service.actions.desk import Desk
from service.actions.evidence import HourMean, beer_hours
from service.actions.openings import packaged_at, packed
from service.actions.tasting_answers import ConditioningAnswer, SpreadAnswer
from service.brewing.carbonation import residual_volumes
from service.brewing.conditioning import Squeeze, conditioning, warm_days
from service.brewing.sugars import SUGARS, Sugar
from service.brewing.working import Interval
from service.errors import ConflictError
from service.record.batches import batch_by_id
from service.record.entries import entries

REFERENCE_C = 20.0
BEFORE = timedelta(days=3)


def conditioning_of(desk: Desk, batch_id: str) -> ConditioningAnswer:
    """What a batch's bottles hold now, and when one is worth opening, in days at 20 C.

    ConflictError: it is not in bottles, or its sugar or temperatures are not known.
    """
    now = desk.now()
    with desk.record.reading() as connection:
        row = batch_by_id(connection, batch_id)
        since = packaged_at(connection, row, now)
        into = packed(connection, batch_id, now)
        if since is None or into is None or into.kegged:
            raise ConflictError("This batch is not in bottles yet. Write its packaging down first.")
        if into.sugar_g is None:
            raise ConflictError(
                "It is not written down how much sugar the bottles got. Add it to the packaging."
            )
        before = beer_hours(connection, desk.watch.house, row, since - BEFORE, since)
        bottles = beer_hours(connection, desk.watch.house, row, since, now)
        if not before or not bottles:
            raise ConflictError("No probe was in the beer before packaging, or with the bottles since.")
        held = residual_volumes(max(h.temp_c for h in before))
        sugar = _sugar(connection, batch_id)
        made = into.sugar_g / into.litres / SUGARS[sugar].grams_per_l_per_volume
        squeezes = [
            Squeeze(_warm(bottles, e.at), bool(e.body["firm"]))
            for e in entries(connection, batch_id, "squeezes")
            if since <= e.at <= now
        ]
    answer = conditioning(
        residual_volumes=held,
        wanted_volumes=held + made,
        temp_c=REFERENCE_C,
        days=_warm(bottles, now),
        squeezes=squeezes,
    )
    low, high = answer.worth_opening_days.low, answer.worth_opening_days.high
    return ConditioningAnswer(
        packaged_at=since,
        warm_days=round(_warm(bottles, now), 2),
        volumes=_spread(answer.volumes),
        worth_opening_warm_days=_spread(answer.worth_opening_days),
        squeezes=len(squeezes),
        sentence=(
            f"About {answer.volumes.value:.1f} volumes by now ({answer.volumes.low:.1f} to "
            f"{answer.volumes.high:.1f}). A first bottle is worth opening after {low:.0f} to {high:.0f} days "
            f"at 20 C; these have had {_warm(bottles, now):.1f}."
        ),
        source=answer.working.source,
        limits=answer.working.limits,
    )


def _sugar(connection: Connection, batch_id: str) -> Sugar:
    """The sugar by its name; what is not known by name is taken for table sugar."""
    named = [e.body.get("sugar") for e in entries(connection, batch_id, "packagings")]
    return next((Sugar(name) for name in named if name in {s.value for s in Sugar}), Sugar.SUCROSE)


def _warm(bottles: list[HourMean], until: datetime) -> float:
    return sum(warm_days(h.temp_c, 1 / 24) for h in bottles if h.at < until)


def _spread(found: Interval) -> SpreadAnswer:
    return SpreadAnswer(value=round(found.value, 2), low=round(found.low, 2), high=round(found.high, 2))
