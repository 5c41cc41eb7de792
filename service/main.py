"""The one place where the parts are put together."""

import os
import random
import socket
import threading
import uuid
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from sensors.bus import SweptSource
from sensors.mqtt.address import broker_address
from sensors.mqtt.handing_on import Accept
from sensors.mqtt.source import MissingLibraryError, MqttSource
from sensors.onewire import OneWireSource
from sensors.pushed import Wanted
from sensors.sample import ProbeId
from sensors.screening import LIMITS
from service.access.delays import Delays
from service.access.door import Access
from service.actions.desk import Desk
from service.actions.lookout import Lookout
from service.alarms.words import Units
from service.api.app import create_app
from service.clock import SystemClock
from service.data_dir import hold
from service.doorway import begin_access, door_of, prefix_of
from service.errors import NotFoundError, SettingsError
from service.notify.config import channel_from
from service.notify.delivery import Deliverer
from service.notify.open_channels import OpenChannels
from service.record.database import Record
from service.record.keeping import Keeper, open_or_set_aside
from service.record.outbox import channel_by_id
from service.serving import Part, end_on_signal, listening
from service.settings import Settings
from service.supervision import Rounds, supervised_from
from service.version import RELEASED
from service.watch.backups import backup_jobs
from service.watch.fits import Fits
from service.watch.heartbeat import Heartbeat
from service.watch.house import House
from service.watch.jobs import Jobs
from service.watch.links import base_of_links
from service.watch.loop import Watch, WatchSettings
from service.watch.outbox import StoredOutbox
from service.watch.publish import Broker
from service.watch.wholeness import Wholeness
from web.served import pages_for


def run(settings: Settings, sources: Sequence[SweptSource] = ()) -> None:
    """Run the service until it is told to stop.

    sources: what is swept instead of the 1-wire bus. Raises GylewatchError before anything is served.
    """
    end_on_signal()
    clock = SystemClock(RELEASED, settings.clock == "trusted")
    with hold(settings.data_dir), listening(settings.host, settings.port) as server:
        record, aside = open_or_set_aside(
            settings.data_dir, settings.database_url, clock.monotonic, clock.now()
        )
        try:
            wake, broker = threading.Event(), Broker(uuid.uuid4().hex[:8])
            heard = _mqtt(settings, clock, lambda: watch.house, lambda *arrived: watch.arrive(*arrived))
            swept = [*(sources or [OneWireSource(settings.w1_root, monotonic=clock.monotonic)]), *heard]
            told = _told(settings, server.address, aside)
            watch = Watch(
                record, swept, clock, told, broker, wake.set, Keeper(settings.data_dir, record).keep
            )
            delivered = Rounds()
            heartbeat = Heartbeat(record, lambda: bool(watch.health()["ready"]), clock.now)
            access = Access(delays=Delays(clock.monotonic))
            begin_access(record, settings, access.code, aside)
            desk = Desk(record, watch, clock.now, settings.zone, heartbeat=heartbeat, access=access)
            deliverer = Deliverer(
                StoredOutbox(record),
                OpenChannels(
                    lambda channel_id: _config(record, channel_id), partial(channel_from, now=clock.now)
                ),
                clock.now,
                wake,
                random.random,
                zone=settings.zone,
                beat=delivered.one_more,
            )
            app = create_app(desk, [pages_for(desk)], door_of(settings, socket.gethostname()))
            wholeness = Wholeness(record, told.folder, watch.tell_damage)
            kept = () if told.backups is None else backup_jobs(record, told.backups, settings.backup_to)
            jobs = Jobs(record, clock.now, kept, settings.zone)
            fits = Fits(Lookout(desk), desk.worker, clock.monotonic)
            supervised = supervised_from(
                os.environ,
                settings.sweep_s,
                {
                    "watch": lambda: watch.rounds + watch.failed_rounds,
                    "writer": lambda: record.writer.rounds,
                    "deliverer": lambda: delivered.count,
                },
                [wake.set, lambda: record.write(lambda _connection: None)],
            )
            parts: list[Part] = [wholeness, watch, deliverer, heartbeat, jobs, fits, *heard, supervised]
            server.serve(app, parts, broker.close, supervised.opened)
        finally:
            record.close()


def _mqtt(
    settings: Settings, clock: SystemClock, house: Callable[[], House], accept: Accept
) -> list[MqttSource]:
    """The one broker that is listened to, or none."""
    if settings.mqtt_url is None:
        return []
    address = broker_address(settings.mqtt_url.get_secret_value())
    try:
        return [
            MqttSource(
                address, lambda: _listening(house()), accept, clock.now, clock.monotonic, random.random
            )
        ]
    except MissingLibraryError as missing:
        raise SettingsError(f"GYLEWATCH_MQTT_URL is set, but: {missing}.") from None


def _listening(house: House) -> list[Wanted]:
    return [
        Wanted(ProbeId(one.id), one.topic, one.path, one.time_path)
        for one in house.probes.values()
        if one.source == "mqtt" and one.topic is not None
    ]


def _told(settings: Settings, address: str, aside: str | None) -> WatchSettings:
    folder = settings.data_dir if settings.database_url is None else None
    return WatchSettings(
        sweep_s=settings.sweep_s,
        zone=settings.zone,
        units=Units.CELSIUS if settings.units == "metric" else Units.FAHRENHEIT,
        link_base=base_of_links(settings.page_url, address + prefix_of(settings)),
        folder=folder,
        set_aside=aside,
        backups=folder,
        limits=replace(LIMITS, frozen_after_s=settings.frozen_after_h * 3600),
    )


def _config(record: Record, channel_id: str) -> Mapping[str, Any] | None:
    try:
        with record.reading() as connection:
            return channel_by_id(connection, channel_id).config
    except NotFoundError:
        return None
