"""How people come to this installation: made from the settings, and what a start asks before it lets them."""

import logging
from urllib.parse import urlsplit

from service.access.door import Door, FirstCode
from service.access.hosts import is_loopback, machine_names, networks
from service.errors import SettingsError
from service.record.access import any_account
from service.record.database import Record
from service.settings import Settings

log = logging.getLogger("gylewatch.access")


def door_of(settings: Settings, hostname: str) -> Door:
    """The names this installation goes by, whom it believes, and under which path it is served.

    hostname: the machine's own name, by which a home network finds it.
    """
    page = urlsplit(settings.page_url or "")
    names = {name.lower() for name in settings.hosts} | machine_names(hostname)
    if page.hostname:
        names.add(page.hostname)
    return Door(frozenset(names), networks(settings.proxies), prefix_of(settings))


def prefix_of(settings: Settings) -> str:
    """The path under which it is served: as set, or as the address of the page has it."""
    return settings.prefix or urlsplit(settings.page_url or "").path.rstrip("/")


def begin_access(record: Record, settings: Settings, code: FirstCode, aside: str | None) -> None:
    """Refuse to listen elsewhere without an account; without one, tell a code that makes the first.

    aside: a damaged record was set aside at this start. Then sampling matters more than who may look: it goes
    on, and without an account nobody but this machine is served whatever it listens on.
    """
    with record.reading() as connection:
        if any_account(connection):
            return
    if not is_loopback(settings.host):
        if aside is None:
            raise SettingsError(
                f"GYLEWATCH_HOST = {settings.host!r}: listening elsewhere than on loopback needs an account "
                "first. Make one: gylewatch account add NAME (as the service's user: sudo -u gylewatch "
                "gylewatch account add NAME), then start again."
            )
        log.error("there is no account in the new record: only this machine is served until there is one")
    log.warning(
        "There is no account: whoever is on this machine may change everything. To make the first account, "
        "open %s/first-account and give the code %s. It is good once, until the program ends.",
        prefix_of(settings),
        code.issue(),
    )
