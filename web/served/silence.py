"""Silence on purpose, on the running service."""

from collections.abc import Mapping, Sequence
from typing import Any

from service.actions import channels, silencing
from service.actions.desk import Desk
from service.actions.silencing import MEMBERS, NewOutOfService, OutOfServiceAnswer, StartWorking
from service.alarms.catalogue import CATALOGUE
from service.errors import InvalidInputError, NotFoundError, Problem
from service.watch.asked import KEYS as ASKED_ONCE
from web.pages.silence import OutView, WorkView
from web.served.asked import asked
from web.words import capital

ITSELF = "gylewatch itself"
WHERE = dict(zip(("vessel", "probe", "channel"), MEMBERS, strict=True))
"""The first part of a place's word, and the member of the body it stands for."""


class SilencePart:
    """What the page of quiet asks of silence."""

    _desk: Desk

    def works(self) -> Sequence[WorkView]:
        """Where somebody works now, the first to be done first."""
        house, now = self._desk.watch.house, self._desk.now()
        found = [
            WorkView(vessel_id, house.vessels[vessel_id].name, working.until, working.reason)
            for vessel_id, working in house.working.items()
            if vessel_id in house.vessels and working.holds(now)
        ]
        return sorted(found, key=lambda work: work.until)

    def start_working(self, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Somebody works at a vessel from now on."""
        given = dict(fields)
        vessel_id = given.pop("vessel_id", None)
        try:
            silencing.start_working(self._desk, str(vessel_id), asked(StartWorking, given))
        except NotFoundError:
            raise InvalidInputError(
                Problem("/vessel_id", "names no vessel", "Choose where you work.")
            ) from None

    def stop_working(self, vessel_id: str, by: str) -> None:  # noqa: ARG002
        """They are done."""
        silencing.stop_working(self._desk, vessel_id)

    def out_of_service(self) -> Sequence[OutView]:
        """What was taken out of service."""
        return [self._out(one) for one in silencing.everything_out_of_service(self._desk)]

    def kinds_of_alarm(self) -> Sequence[tuple[str, str]]:
        """What can be taken out of service."""
        found = [(key, capital(entry.title)) for key, entry in CATALOGUE.items() if key not in ASKED_ONCE]
        return sorted(found, key=lambda kind: kind[1])

    def places_of_alarms(self) -> Sequence[tuple[str, str]]:
        """Vessels, probes that hang in one, channels, and the watch itself."""
        house, now = self._desk.watch.house, self._desk.now()
        vessels = [(f"vessel:{one.id}", one.name) for one in house.vessels.values()]
        probes = [
            (f"probe:{one.id}", f"probe {one.label}")
            for one in house.probes.values()
            if house.assigned(now, one.id) is not None
        ]
        ways = [
            (f"channel:{one.id}", f"messages by {one.name}") for one in channels.every_channel(self._desk)
        ]
        return [*vessels, *probes, *ways, ("itself", ITSELF)]

    def take_out(self, by: str, fields: Mapping[str, Any]) -> None:
        """Take a kind of alarm out of service at a place."""
        given = dict(fields)
        kind, _, which = str(given.pop("where", "")).partition(":")
        if kind in WHERE:
            given[WHERE[kind]] = which
        try:
            silencing.take_out(self._desk, asked(NewOutOfService, given), by)
        except InvalidInputError as wrong:
            raise InvalidInputError(*_at_where(wrong.problems, given)) from None

    def put_back(self, which: str, by: str) -> None:
        """Back into service."""
        silencing.put_back(self._desk, which, by)

    def _out(self, one: OutOfServiceAnswer) -> OutView:
        house = self._desk.watch.house
        vessel = house.vessels.get(one.vessel_id or "")
        probe = house.probes.get(one.probe_id or "")
        channel = next((c for c in house.channels if c.id == one.channel_id), None)
        named = [
            None if vessel is None else vessel.name,
            None if probe is None else probe.label,
            None if channel is None else channel.name,
        ]
        where = ", ".join(name for name in named if name) or ITSELF
        return OutView(one.id, capital(CATALOGUE[one.key].title), where, one.since, one.cause)


def _at_where(problems: Sequence[Problem], given: Mapping[str, Any]) -> list[Problem]:
    """The problems by the fields of the form; what is wrong with the place is said once."""
    elsewhere = [p for p in problems if p.field.removeprefix("/") not in MEMBERS]
    place = [p for p in problems if p.field.removeprefix("/") in MEMBERS]
    if not place:
        return elsewhere
    wanted = next((p for p in place if p.problem == "is missing"), None)
    if wanted is not None or any("does not belong" in p.problem for p in place):
        need = (wanted.field.removeprefix("/").removesuffix("_id") if wanted else "gylewatch itself").strip()
        title = CATALOGUE[given["key"]].title
        article = "" if need.startswith("gyle") else "a "
        said = Problem(
            "/where", f"is not where {title!r} can be", f"It belongs to {article}{need}: choose one."
        )
    else:
        said = Problem("/where", place[0].problem, place[0].remedy)
    return [*elsewhere, said]
