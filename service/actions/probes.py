"""Probes: declare, hang somewhere, take away, push samples to, and how each one fares."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from sensors.faults import sentence_for
from sensors.pushed import path_fault, topic_fault
from sensors.sample import ProbeId
from service.actions.answers import LastValue, ProbeAnswer, ProbeHealth, Receipt, RefusedSample
from service.actions.asks import NewProbe, ProbeChange
from service.actions.bus import NO_BROKER, is_unheard
from service.actions.desk import Desk, changes_of, not_ahead, short_id
from service.actions.wire import instant
from service.errors import ConflictError, InvalidInputError, Problem
from service.record.facts import Probe
from service.record.vessels import (
    add_probe,
    assign,
    change_probe,
    probe_by_id,
    probe_ids,
    probes,
    vessel_by_id,
)
from service.watch.typed import COLDEST_C, HOLDS, INTERVAL_S, TYPED, WARMEST_C, age_words

REMEDIES = {
    "/topic": "Give the topic that its messages come on, such as cellar/bucket/temp or cellar/+/temp.",
    "/path": "Give names and numbers with dots between, such as readings.0.temp_c, or leave it out.",
    "/time_path": "Give names and numbers with dots between, such as readings.0.at, or leave it out.",
}


def every_probe(desk: Desk) -> list[ProbeAnswer]:
    """Every probe as it is now, newest first."""
    with desk.record.reading() as connection:
        found = probes(connection)
    return [probe_answer(desk, one, desk.now()) for one in found]


def one_probe(desk: Desk, probe_id: str) -> ProbeAnswer:
    """One probe as it is now."""
    with desk.record.reading() as connection:
        found = probe_by_id(connection, probe_id)
    return probe_answer(desk, found, desk.now())


def declare_probe(desk: Desk, ask: NewProbe) -> ProbeAnswer:
    """A probe whose values will arrive, pushed or in messages."""
    now = desk.now()
    _refuse_half_place(ask.vessel_id, ask.role)
    _refuse_bad_listening(ask.source, ask.topic, ask.path, ask.time_path)
    typed = ask.source == TYPED
    if typed:
        _refuse_for_typed("interval_s" in ask.model_fields_set, ask.role)
    interval_s = INTERVAL_S if typed else ask.interval_s

    def work(connection: Connection) -> str:
        probe_id = short_id(ask.label, probe_ids(connection), "probe")
        if ask.vessel_id is not None:
            vessel_by_id(connection, ask.vessel_id)
        add_probe(connection, probe_id, ask.label, ask.source, None, interval_s, now)
        more = {"topic": ask.topic, "path": ask.path, "time_path": ask.time_path}
        change_probe(connection, probe_id, {"mounting": ask.mounting, **more})
        if ask.vessel_id is not None:
            assign(connection, probe_id, ask.vessel_id, ask.role, now)
        return probe_id

    probe_id = desk.record.write(work)
    desk.watch.reload()
    return one_probe(desk, probe_id)


def alter_probe(desk: Desk, probe_id: str, ask: ProbeChange) -> ProbeAnswer:
    """Change a probe, or hang it somewhere else from a time on."""
    changes = changes_of(ask, ("label", "interval_s"))
    now = desk.now()
    at = not_ahead(changes.pop("from_", None) or now, now, "/from")
    moved = {"vessel_id", "role"} & changes.keys()
    vessel_id, role = changes.pop("vessel_id", None), changes.pop("role", None)

    def work(connection: Connection) -> None:
        stored = probe_by_id(connection, probe_id)
        if "interval_s" in changes and stored.source == "onewire":
            raise InvalidInputError(
                Problem(
                    "/interval_s", "is not set for a probe on the bus", "Change the setting sweep_s instead."
                )
            )
        if stored.source == TYPED:
            _refuse_for_typed("interval_s" in changes, role)
        if changes.keys() & {"topic", "path", "time_path"}:
            new = {"topic": stored.topic, "path": stored.path, "time_path": stored.time_path, **changes}
            _refuse_bad_listening(stored.source, new["topic"], new["path"], new["time_path"])
        if changes.get("resolution_bits") is not None and not desk.watch.sources.adjustable(stored):
            raise InvalidInputError(
                Problem(
                    "/resolution_bits",
                    "cannot be set: only a DS18B20 or DS1822 on the bus has a choice",
                    "Leave it out.",
                )
            )
        change_probe(connection, probe_id, changes)
        if not moved:
            return
        here = desk.watch.house.assigned(now, probe_id)
        to_vessel = vessel_id if "vessel_id" in moved else (here.vessel_id if here else None)
        to_role = role if "role" in moved else (here.role if here and to_vessel is not None else None)
        if "vessel_id" in moved and vessel_id is None:
            to_role = None
        _refuse_half_place(to_vessel, to_role)
        if to_vessel is not None:
            vessel_by_id(connection, to_vessel)
        assign(connection, probe_id, to_vessel, to_role, at)

    desk.record.write(work)
    desk.watch.reload()
    return one_probe(desk, probe_id)


def take_probe_away(desk: Desk, probe_id: str) -> None:
    """Forget a probe; its series stays. One that is on the bus would come back by itself: refused."""
    now = desk.now()

    def work(connection: Connection) -> None:
        stored = probe_by_id(connection, probe_id)
        sight = desk.watch.sight(probe_id, now)
        if stored.source in ("onewire", "simulated") and sight is not None and sight.present:
            raise ConflictError(
                f"The probe {probe_id} is on the bus. Unplug it first; then it can be taken away."
            )
        assign(connection, probe_id, None, None, now)
        change_probe(connection, probe_id, {"removed_at": now})

    desk.record.write(work)
    desk.watch.forget(probe_id)
    desk.watch.reload()


def push(desk: Desk, probe_id: str, samples: list[dict[str, Any]]) -> Receipt:
    """Take samples that arrive; each is looked at by itself. The answer follows the commit."""
    with desk.record.reading() as connection:
        stored = probe_by_id(connection, probe_id)
    if stored.source not in ("pushed", TYPED):
        raise ConflictError(
            f"The probe {probe_id} is read by this program itself (source {stored.source}); "
            "samples are pushed to a probe declared for that."
        )
    arrived: list[tuple[int, datetime, float]] = []
    for index, one in enumerate(samples):
        arrived.append((index, *_sample(index, one)))
    slips = [one for one in arrived if stored.source == TYPED and not COLDEST_C <= one[2] <= WARMEST_C]
    arrived = [one for one in arrived if one not in slips]
    result = desk.watch.arrive(ProbeId(probe_id), arrived)
    return Receipt(
        new=result.new,
        known=result.known,
        refused=[
            RefusedSample(index=index, reason=reason)
            for index, reason in sorted([*result.refused, *((one[0], "out-of-range") for one in slips)])
        ],
    )


def _sample(index: int, one: Mapping[str, Any]) -> tuple[datetime, float]:
    where = f"/samples/{index}"
    for name in one:
        if name not in ("at", "temp_c"):
            raise InvalidInputError(Problem(f"{where}/{name}", "is not known here", "Send at and temp_c."))
    if "at" not in one or "temp_c" not in one:
        missing = "at" if "at" not in one else "temp_c"
        raise InvalidInputError(Problem(f"{where}/{missing}", "is missing", "Send at and temp_c."))
    try:
        at = instant(one["at"])
    except ValueError as wrong:
        raise InvalidInputError(
            Problem(f"{where}/at", str(wrong), "Send the time with its offset.")
        ) from None
    value = one["temp_c"]
    if isinstance(value, bool) or not isinstance(value, int | float):
        return at, float("nan")
    try:
        return at, float(value)
    except OverflowError:
        return at, float("inf")


def _refuse_for_typed(interval: bool, role: str | None) -> None:
    """Refuse what means nothing where a person reads a thermometer."""
    problems = []
    if interval:
        problems.append(Problem("/interval_s", "means nothing for values typed in by hand", "Leave it out."))
    if role not in (None, "surroundings"):
        words = "cannot be read by hand: alarms need a probe that measures"
        problems.append(Problem("/role", words, "Use surroundings, or another source."))
    if problems:
        raise InvalidInputError(*problems)


def _refuse_half_place(vessel_id: str | None, role: str | None) -> None:
    if (vessel_id is None) != (role is None):
        field, other = ("/role", "vessel_id") if role is None else ("/vessel_id", "role")
        raise InvalidInputError(
            Problem(field, f"is missing beside {other}", "A probe hangs at a vessel in a role: give both.")
        )


def _refuse_bad_listening(source: str, topic: str | None, path: str | None, time_path: str | None) -> None:
    """Refuse what a probe cannot listen to."""
    given = {"/topic": topic, "/path": path, "/time_path": time_path}
    if source != "mqtt":
        problems = [
            Problem(field, "is only for a probe over MQTT", "Leave it out, or set source to mqtt.")
            for field, value in given.items()
            if value is not None
        ]
    else:
        faults = {
            "/topic": "is missing" if topic is None else topic_fault(topic),
            "/path": path_fault(path) if path is not None else "",
            "/time_path": path_fault(time_path) if time_path is not None else "",
        }
        if time_path is not None and path is None:
            faults["/path"] = "is missing beside time_path: a bare number has no time"
        problems = [Problem(field, fault, REMEDIES[field]) for field, fault in faults.items() if fault]
    if problems:
        raise InvalidInputError(*problems)


def probe_answer(desk: Desk, probe: Probe, now: datetime) -> ProbeAnswer:
    """A probe in the shape of the HTTP contract."""
    place = desk.watch.house.assigned(now, probe.id)
    sight = desk.watch.sight(probe.id, now)
    last = None
    if sight is not None and sight.last_c is not None and sight.at is not None:
        last = LastValue(temp_c=round(sight.last_c, 4), at=sight.at)
    return ProbeAnswer(
        id=probe.id,
        label=probe.label,
        source=probe.source,
        address=probe.address,
        vessel_id=None if place is None else place.vessel_id,
        role=None if place is None else place.role,
        mounting=probe.mounting,
        interval_s=_interval_s(desk, probe),
        resolution_bits=desk.watch.sources.resolution_of(probe),
        topic=probe.topic,
        path=probe.path,
        time_path=probe.time_path,
        last=last,
        health=_health(desk, probe, now, place is not None),
    )


def _interval_s(desk: Desk, probe: Probe) -> float | None:
    if probe.source == TYPED:
        return None
    return probe.interval_s if probe.interval_s is not None else desk.watch.sweep_s


def by_hand(desk: Desk, probe: Probe, now: datetime) -> str | None:
    """How old what a person reads is, as a sentence; None for a probe that measures by itself."""
    if probe.source != TYPED:
        return None
    sight = desk.watch.sight(probe.id, now)
    return None if sight is None or sight.at is None else age_words(now - sight.at)


def _health_by_hand(desk: Desk, probe: Probe, now: datetime, placed: bool) -> ProbeHealth:
    sight = desk.watch.sight(probe.id, now)
    at = None if sight is None else sight.at
    sentence = "Nothing has been typed in yet." if at is None else age_words(now - at)
    fresh = at is not None and now - at < HOLDS
    state = "silent" if not fresh else "well" if placed else "waiting"
    return ProbeHealth(state=state, faults_1h={}, read_ms=None, sentence=sentence)


def _health(desk: Desk, probe: Probe, now: datetime, placed: bool) -> ProbeHealth:
    if probe.source == TYPED:
        return _health_by_hand(desk, probe, now, placed)
    sight = desk.watch.sight(probe.id, now)
    if is_unheard(desk, probe):
        return ProbeHealth(state="silent", faults_1h={}, read_ms=None, sentence=NO_BROKER)
    if sight is None:
        return ProbeHealth(
            state="silent", faults_1h={}, read_ms=None, sentence="Nothing has been heard of it yet."
        )
    faults = {kind.value: count for kind, count in sorted(sight.faults_1h.items())}
    if sight.temp_c is None:
        state = "silent"
        sentence = "Silent: " + (
            sentence_for(sight.last_fault.kind)
            if sight.last_fault
            else "nothing has come from it for a while."
        )
    elif sight.last_fault is not None and faults:
        state = "faulty"
        sentence = f"Readings refused in the last hour: {sum(faults.values())}. " + sentence_for(
            sight.last_fault.kind
        )
    elif not placed:
        state, sentence = "waiting", "Well. It waits to be given a vessel and a role."
    else:
        state, sentence = "well", "Well."
    return ProbeHealth(
        state=state,
        faults_1h=faults,
        read_ms=None if sight.read_ms is None else round(sight.read_ms, 1),
        sentence=sentence,
    )
