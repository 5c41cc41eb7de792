"""Gathering the facts of this installation, from the machine, the record and the running program."""

import ctypes
import os
import subprocess
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from ipaddress import ip_network
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, func, select
from sqlalchemy.exc import DBAPIError

from service.access.hosts import is_loopback
from service.doctor.facts import ChannelFacts, ClockFacts, Facts, FolderFacts, RecordFacts, ServiceFacts
from service.doctor.machine import bus_facts, open_wide, others_may_read, storage_facts, throttled
from service.doctor.user import User, name_of, service_user
from service.notify.small_httpx import httpx
from service.record.backup.description import FOLDER, backups_in
from service.record.keeping import SUSPECT
from service.record.minutes import newest_minute
from service.record.outbox import SENT, channels
from service.record.sqlite import reading_engine
from service.record.tables import message, probe
from service.settings import Settings
from service.version import RELEASED

SERVICE_USER = "gylewatch"
UNSYNCHRONISED = 5
"""TIME_ERROR, what adjtimex(2) returns while no time service has set the clock."""

TIMEX_BYTES = 1024
"""More than any machine's struct timex."""

EVERYWHERE = {"0.0.0.0": "127.0.0.1", "::": "::1"}
"""Where a program that listens on every address is asked: under a name of this machine."""

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def gather(settings: Settings, environment: Mapping[str, str], root: Path = Path("/")) -> Facts:
    """Everything that is looked at. root: where the machine's files are. It takes some seconds at most."""
    user = service_user(os.geteuid(), SERVICE_USER)
    folder = settings.data_dir
    record, newest = record_facts(folder, settings.database_url)
    found = backups_in(folder / FOLDER) if os.access(folder, os.R_OK | os.X_OK) else []
    return Facts(
        bus=bus_facts(root, settings.w1_root, user),
        folder=folder_facts(folder, user),
        clock=ClockFacts(datetime.now(UTC), RELEASED, synchronised(), newest),
        storage=storage_facts(root, folder, SUSPECT),
        record=record,
        service=service_facts(root, settings.host, settings.port, settings.proxies),
        throttled=throttled(root, lambda: _vcgencmd(environment)),
        has_backups=(folder / FOLDER).is_dir() if os.access(folder, os.X_OK) else False,
        newest_backup=found[0].at if found else None,
    )


def folder_facts(folder: Path, user: User) -> FolderFacts:
    """The data folder as the service's user meets it."""
    if not folder.exists():
        return FolderFacts(str(folder), False, user=user.name)
    if not folder.is_dir():
        return FolderFacts(str(folder), True, is_folder=False, user=user.name)
    try:
        inside = sorted(path for path in folder.iterdir() if path.is_file())
    except PermissionError:
        inside = []
    return FolderFacts(
        path=str(folder),
        exists=True,
        owner=name_of(folder.stat().st_uid),
        user=user.name,
        may_write=user.may_write(folder),
        foreign=tuple(path.name for path in inside if not user.may_write(path)),
        open_to_others=others_may_read(folder),
    )


def synchronised() -> bool | None:
    """Whether the kernel was told by a time service that the clock is right; None when it will not say."""
    try:
        state = int(ctypes.CDLL(None).adjtimex(ctypes.create_string_buffer(TIMEX_BYTES)))
    except (OSError, AttributeError):
        return None
    return None if state < 0 else state != UNSYNCHRONISED


def record_facts(folder: Path, url: str | None) -> tuple[RecordFacts, datetime | None]:
    """What the record says, and its newest minute. Nothing is changed, and no newer schema is made."""
    path = folder / "record.db"
    try:
        if url is None and not path.exists():
            return RecordFacts(exists=False), None
    except PermissionError:
        return RecordFacts(exists=True, trouble=f"The record in {folder} may not be read by this user."), None
    engine = create_engine(url) if url else reading_engine(path)
    try:
        return _read(engine)
    except DBAPIError as refused:
        return RecordFacts(exists=True, trouble=f"The record cannot be read: {refused.orig}."), None
    finally:
        engine.dispose()


def _read(engine: Engine) -> tuple[RecordFacts, datetime | None]:
    with engine.connect() as connection:
        newest = newest_minute(connection)
        began = connection.execute(select(func.min(probe.c.created_at))).scalar()
        ways = tuple(_channel(connection, one.id, one.name) for one in channels(connection))
    at = None if newest is None else EPOCH + timedelta(minutes=newest)
    return RecordFacts(exists=True, channels=ways, began=began), at


def _channel(connection: Connection, channel_id: str, name: str) -> ChannelFacts:
    mine = message.c.channel_id == channel_id
    sent = connection.execute(select(func.count()).where(mine, message.c.state == SENT)).scalar_one()
    stuck = connection.execute(
        select(func.count(), func.max(message.c.far_end)).where(
            mine, message.c.state != SENT, message.c.attempts > 0
        )
    ).one()
    return ChannelFacts(name, int(sent), int(stuck[0]), str(stuck[1] or ""))


def service_facts(root: Path, host: str, port: int, proxies: Sequence[str] = ()) -> ServiceFacts:
    """Whether the program answers on its port, and what it says it lacks.

    host, proxies: as in the settings.
    """
    asked = EVERYWHERE.get(host, host)
    shown = f"[{asked}]" if ":" in asked else asked
    wide, meant = open_wide(root, port), not is_loopback(host)
    by_proxy = any(is_loopback(str(ip_network(one, strict=False).network_address)) for one in proxies)
    try:
        answer = httpx.get(f"http://{shown}:{port}/readyz", timeout=5, trust_env=False)
        missing = answer.json()["missing"]
        return ServiceFacts(port, True, tuple(str(one) for one in missing), wide, meant, by_proxy)
    except (httpx.HTTPError, ValueError, KeyError, TypeError):
        return ServiceFacts(port, False, (), wide, meant, by_proxy)


def _vcgencmd(environment: Mapping[str, str]) -> str | None:
    """What Raspberry Pi's own command says of power and heat; None without it."""
    try:
        done = subprocess.run(
            ["vcgencmd", "get_throttled"],
            env=dict(environment),
            capture_output=True,
            text=True,
            timeout=5,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return None
    return done.stdout if done.returncode == 0 else None
