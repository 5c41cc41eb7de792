"""Vessels: make, change, take away, and how each one is right now."""

from datetime import datetime
from math import exp

from sqlalchemy import Connection

from service.actions.answers import Interval, ProbeAt, Thermal, VesselAnswer, VesselNow
from service.actions.asks import NewVessel, VesselChange
from service.actions.desk import Desk, changes_of, short_id
from service.actions.known import learned_of
from service.actions.probes import by_hand
from service.errors import ConflictError
from service.record.batches import occupant
from service.record.facts import Vessel
from service.record.vessels import add_vessel, change_vessel, vessel_by_id, vessel_ids, vessels
from service.watch.house import House


def every_vessel(desk: Desk) -> list[VesselAnswer]:
    """Every vessel as it is now, newest first."""
    with desk.record.reading() as connection:
        found = vessels(connection)
    return [vessel_answer(desk, one, desk.now()) for one in found]


def one_vessel(desk: Desk, vessel_id: str) -> VesselAnswer:
    """One vessel as it is now."""
    with desk.record.reading() as connection:
        found = vessel_by_id(connection, vessel_id)
    return vessel_answer(desk, found, desk.now())


def make_vessel(desk: Desk, ask: NewVessel) -> VesselAnswer:
    """A new vessel."""

    def work(connection: Connection) -> Vessel:
        new = Vessel(
            id=short_id(ask.name, vessel_ids(connection), "vessel"),
            name=ask.name,
            kind=ask.kind,
            wall=ask.wall,
            volume_l=ask.volume_l,
            near=tuple(dict.fromkeys(ask.near)),
            created_at=desk.now(),
        )
        add_vessel(connection, new)
        return new

    new = desk.record.write(work)
    desk.watch.reload()
    return vessel_answer(desk, new, desk.now())


def alter_vessel(desk: Desk, vessel_id: str, ask: VesselChange) -> VesselAnswer:
    """Change a vessel."""
    changes = changes_of(ask, ("name", "kind", "near"))

    def work(connection: Connection) -> Vessel:
        vessel_by_id(connection, vessel_id)
        change_vessel(connection, vessel_id, changes)
        return vessel_by_id(connection, vessel_id)

    changed = desk.record.write(work)
    desk.watch.reload()
    return vessel_answer(desk, changed, desk.now())


def take_vessel_away(desk: Desk, vessel_id: str) -> None:
    """Take a vessel away; what was recorded in it stays. Refused while a batch is in it."""
    now = desk.now()

    def work(connection: Connection) -> None:
        vessel_by_id(connection, vessel_id)
        batch = occupant(connection, vessel_id)
        if batch is not None:
            raise ConflictError(
                f"The batch {batch.name!r} is in this vessel. "
                "Move it or end it first; then the vessel can go."
            )
        change_vessel(connection, vessel_id, {"removed_at": now})

    desk.record.write(work)
    desk.watch.reload()


def vessel_answer(desk: Desk, vessel: Vessel, now: datetime) -> VesselAnswer:
    """A vessel in the shape of the HTTP contract."""
    house = desk.watch.house
    return VesselAnswer(
        id=vessel.id,
        name=vessel.name,
        kind=vessel.kind,
        wall=vessel.wall,
        volume_l=vessel.volume_l,
        near=list(vessel.near),
        probes=[ProbeAt(probe_id=probe.id, role=role) for probe, role in house.probes_at(vessel.id, now)],
        now=_now_of(desk, house, vessel.id, now),
        thermal=_thermal(desk, vessel),
    )


def _thermal(desk: Desk, vessel: Vessel) -> Thermal:
    """How fast the vessel follows its room, as its batches showed, with a 90 % interval."""
    with desk.record.reading() as connection:
        found, count = learned_of(connection, vessel)
    if found is None:
        return Thermal(tau_h=Interval(value=None, low=None, high=None), learned_from=0)
    low, high = (found.tau_h * exp(side * 1.645 * found.spread_ln) for side in (-1, 1))
    tau = Interval(value=round(found.tau_h, 2), low=round(low, 2), high=round(high, 2))
    return Thermal(tau_h=tau, learned_from=count)


def _now_of(desk: Desk, house: House, vessel_id: str, now: datetime) -> VesselNow:
    liquid = house.probe_of(vessel_id, "liquid", now)
    beside = house.probe_of(vessel_id, "surroundings", now)
    sight = None if liquid is None else desk.watch.sight(liquid.id, now)
    aside = None if beside is None else desk.watch.sight(beside.id, now)
    stage = desk.watch.stage_now(vessel_id, now)
    heading = None if stage is None else desk.watch.insight_of(stage.batch_id).heading
    return VesselNow(
        temp_c=None if sight is None else sight.temp_c,
        at=None if sight is None else sight.at,
        age_s=None if sight is None else sight.age_s,
        surroundings_c=None if aside is None else aside.temp_c,
        surroundings_note=None if beside is None else by_hand(desk, beside, now),
        target_c=None if stage is None else stage.band.target_c,
        low_c=None if stage is None else stage.band.low_c,
        high_c=None if stage is None else stage.band.high_c,
        stage=None if stage is None else stage.key,
        batch_id=None if stage is None else stage.batch_id,
        trend_c_per_h=None if sight is None or sight.temp_c is None else sight.trend_c_per_h,
        leaves_band_at=None if heading is None else heading.leaves_at,
        standing=desk.watch.standing_at(vessel_id),
    )
