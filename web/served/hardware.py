"""Probes, vessels, channels and first steps on the running service."""

from collections.abc import Mapping, Sequence
from typing import Any

from service.actions import batches, channels, plans, probes, room, vessels
from service.actions.answers import ChannelAnswer
from service.actions.asks import ChannelChange, NewChannel, NewProbe, NewVessel, ProbeChange
from service.actions.bus import bus_sentence
from service.actions.desk import Desk
from web.pages.first_steps import Progress
from web.pages.probes import Choice, ProbeView
from web.pages.settings import ChannelView, Trial
from web.served.asked import asked


class HardwarePart:
    """What the pages of probes, vessels, channels and first steps ask."""

    _desk: Desk

    def probes(self) -> Sequence[ProbeView]:
        """Every probe as it is now."""
        names = {one.id: one.name for one in vessels.every_vessel(self._desk)}
        return [
            ProbeView(
                id=one.id,
                label=one.label,
                source=one.source,
                state=one.health.state,
                sentence=one.health.sentence,
                vessel_id=one.vessel_id,
                vessel_name=None if one.vessel_id is None else names.get(one.vessel_id, one.vessel_id),
                role=one.role,
                mounting=one.mounting,
                last_c=None if one.last is None else one.last.temp_c,
                last_at=None if one.last is None else one.last.at,
                read_ms=one.health.read_ms,
                bits=one.resolution_bits,
                faults=one.health.faults_1h,
            )
            for one in probes.every_probe(self._desk)
        ]

    def bus_sentence(self) -> str:
        """The last sweep, what is unusual about the bus, and how the broker is."""
        return bus_sentence(self._desk, self._desk.now())

    def add_probe(self, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Declare a probe whose values arrive."""
        probes.declare_probe(self._desk, asked(NewProbe, fields))

    def read_room(self, by: str, vessel_id: str, temp_c: float) -> None:  # noqa: ARG002
        """Keep what the thermometer beside a vessel shows now."""
        room.read_by_hand(self._desk, vessel_id, temp_c)

    def vessel_choices(self) -> Sequence[Choice]:
        """Every vessel, oldest first."""
        return [Choice(one.id, one.name) for one in reversed(vessels.every_vessel(self._desk))]

    def place_probe(self, probe_id: str, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Change what is different from now, so that an unchanged place is not dated anew."""
        now = probes.one_probe(self._desk, probe_id)
        changed = {name: value for name, value in fields.items() if getattr(now, name) != value}
        if {"vessel_id", "role"} & changed.keys():
            changed |= {"vessel_id": fields["vessel_id"], "role": fields["role"]}
        if changed:
            probes.alter_probe(self._desk, probe_id, asked(ProbeChange, changed))

    def add_vessel(self, by: str, fields: Mapping[str, Any]) -> str:  # noqa: ARG002
        """Make a vessel."""
        return vessels.make_vessel(self._desk, asked(NewVessel, fields)).id

    def channels(self) -> Sequence[ChannelView]:
        """Every channel with how it fares."""
        return [_channel(one) for one in reversed(channels.every_channel(self._desk))]

    def add_channel(self, by: str, fields: Mapping[str, Any]) -> str:  # noqa: ARG002
        """Make a channel."""
        return channels.make_channel(self._desk, asked(NewChannel, fields)).id

    def change_channel(self, channel_id: str, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Change when a channel speaks, and of what."""
        channels.alter_channel(self._desk, channel_id, asked(ChannelChange, fields))

    def try_channel(self, channel_id: str, by: str) -> Trial:  # noqa: ARG002
        """Send a trial message now."""
        tried = channels.try_channel(self._desk, channel_id)
        return Trial(tried.delivered, tried.far_end, tried.took_ms if tried.delivered else None)

    def remove_channel(self, channel_id: str, by: str) -> None:  # noqa: ARG002
        """Take a channel away."""
        channels.take_channel_away(self._desk, channel_id)

    def progress(self) -> Progress:
        """What is there already."""
        hung = probes.every_probe(self._desk)
        placed = sum(one.vessel_id is not None for one in hung)
        return Progress(
            probes=len(hung),
            unplaced=len(hung) - placed,
            vessels=len(vessels.every_vessel(self._desk)),
            placed=placed,
            running=len(batches.every_batch(self._desk, "running")),
            channels=len(channels.every_channel(self._desk)),
            plans=len(plans.every_plan(self._desk)),
            surroundings=sum(one.role == "surroundings" for one in hung),
        )


def _channel(one: ChannelAnswer) -> ChannelView:
    extra = one.model_extra or {}
    where = extra.get("url") or f"{extra.get('host', '')}, to {extra.get('to', '')}"
    health = one.health
    if health.failing_since is not None:
        words = f"It has been failing; the far end said: {health.far_end or 'nothing'}."
    elif health.last_at is None:
        words = "Nothing has been sent by it yet."
    else:
        words = "The last message arrived." if health.last_state == "delivered" else ""
    if health.waiting:
        words += f" Waiting to be sent: {health.waiting}."
    return ChannelView(
        id=one.id,
        name=one.name,
        kind=one.kind,
        where=str(where),
        health=words.strip(),
        failing=health.failing_since is not None,
        least_priority=one.least_priority,
        for_helper=one.for_helper,
        digest_at=one.digest_at or "",
        quiet={day: (span["from"], span["to"]) for day, span in (one.quiet_hours or {}).items()},
    )
