"""Absences and the sign of life, on the running service."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any

from service.actions import absences, heartbeat
from service.actions.absences import NewAbsence
from service.actions.desk import Desk
from service.actions.heartbeat import HeartbeatSetting
from service.alarms.catalogue import CATALOGUE
from service.alarms.model import AlarmState, Priority, Subject
from service.alarms.wording import compose_for_helper
from service.alarms.words import Units, clock, degrees, difference
from service.errors import NotFoundError
from web.pages.away import AbsenceView, HeartbeatView
from web.pages.probes import Choice
from web.served.asked import asked
from web.words import Taste


class AwayPart:
    """What the page of quiet asks of absences and of the sign of life."""

    _desk: Desk

    def taste(self) -> Taste:
        """How this brewer wants values written."""
        raise NotImplementedError

    def channel_choices(self) -> Sequence[Choice]:
        """Every channel, by name."""
        return sorted((Choice(c.id, c.name) for c in self._desk.watch.house.channels), key=lambda c: c.name)

    def absences(self) -> Sequence[AbsenceView]:
        """Those that are not over, soonest first, and the last that was."""
        now = self._desk.now()
        names = {one.id: one.name for one in self._desk.watch.house.channels}
        found = [
            AbsenceView(
                id=one.id,
                begins_at=one.from_,
                ends_at=one.to,
                channel_name=names.get(one.channel_id, one.channel_id),
                note=one.note or "",
                holds=one.from_ <= now < one.to,
                over=one.to <= now,
            )
            for one in absences.every_absence(self._desk)
        ]
        found.sort(key=lambda one: one.begins_at)
        return [*[one for one in found if one.over][-1:], *[one for one in found if not one.over]]

    def helper_example(self) -> str:
        """What a helper would read of a vessel that is too warm: an example, in the words of real ones."""
        zone, now = self._desk.zone, self._desk.now()
        units = Units(self.taste().units)
        name = next((one.name for one in self._desk.watch.house.vessels.values()), "The bucket")
        since = clock(now - timedelta(minutes=10), zone, now)
        warm = AlarmState(
            Subject("above-band"),
            priority=Priority.HIGH,
            reason=f"{degrees(22.6, units)} since {since}, {difference(1.1, units)} over the band",
            raised_at=now,
        )
        by = now + timedelta(seconds=CATALOGUE["above-band"].respond_within_s)
        return compose_for_helper(name, [replace(warm, respond_by=by)], zone, None, now=now).body

    def add_absence(self, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Make an absence."""
        absences.make_absence(self._desk, asked(NewAbsence, fields))

    def remove_absence(self, absence_id: str, by: str) -> None:  # noqa: ARG002
        """The brewer is there after all."""
        absences.take_absence_out(self._desk, absence_id)

    def heartbeat(self) -> HeartbeatView | None:
        """Where signs of life go."""
        try:
            one = heartbeat.the_heartbeat(self._desk)
        except NotFoundError:
            return None
        now = self._desk.now()
        if one.last is None:
            return HeartbeatView(one.url, one.every_s)
        when = clock(one.last.at, self._desk.zone, now)
        words = "The last one arrived" if one.last.arrived else "The last one did not arrive"
        return HeartbeatView(one.url, one.every_s, f"{words} ({when}): {one.last.words}", one.last.arrived)

    def set_heartbeat(self, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Send signs of life there."""
        heartbeat.set_heartbeat(self._desk, asked(HeartbeatSetting, fields))

    def end_heartbeat(self, by: str) -> None:  # noqa: ARG002
        """No more signs of life."""
        heartbeat.end_heartbeat(self._desk)
