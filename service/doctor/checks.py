"""Judging an installation: from facts to findings, each with its remedy. Pure."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

from service.doctor.facts import Facts

LITTLE_ROOM_BYTES = 500_000_000
"""As the alarm ``disk-low``: years of minutes, but an update of the system takes that much."""

OLD_BACKUP = timedelta(days=3)
WORN_PERCENT = 90
SLACK = timedelta(minutes=5)


class Level(StrEnum):
    """How much a finding matters: all is well, worth knowing, or to be mended."""

    WELL = "well"
    NOTE = "note"
    WRONG = "wrong"


@dataclass(frozen=True, slots=True)
class Finding:
    """What one check found. remedy: what to do, empty when all is well."""

    name: str
    level: Level
    found: str
    remedy: str = ""


def examine(facts: Facts) -> list[Finding]:
    """Every check on these facts, in the order in which things are best mended."""
    findings: list[Finding] = []
    for name, check in CHECKS:
        levels = [Finding(name, level, found, remedy) for level, found, remedy in check(facts)]
        findings += levels or [Finding(name, Level.WELL, WELL[name])]
    return findings


Seen = tuple[Level, str, str]


def _folder(facts: Facts) -> Iterator[Seen]:
    folder = facts.folder
    if not folder.exists:
        yield (
            Level.NOTE,
            f"The data folder {folder.path} is not there yet.",
            "It is made when gylewatch is started.",
        )
        return
    if not folder.is_folder:
        yield (
            Level.WRONG,
            f"{folder.path} is no folder.",
            "Move that file away, or name another folder with GYLEWATCH_DATA_DIR.",
        )
        return
    if not folder.may_write:
        yield (
            Level.WRONG,
            f"The user {folder.user} may not write in {folder.path}, which belongs to {folder.owner}.",
            f"sudo chown -R {folder.user}: {folder.path}",
        )
    elif folder.foreign:
        yield (
            Level.WRONG,
            f"The user {folder.user} may not write {', '.join(folder.foreign)} in {folder.path}.",
            f"sudo chown -R {folder.user}: {folder.path}",
        )
    if folder.open_to_others:
        yield (
            Level.WRONG,
            f"Other users of this machine can read {folder.path}, where the passwords of channels lie.",
            f"chmod 700 {folder.path}",
        )


def _storage(facts: Facts) -> Iterator[Seen]:
    storage = facts.storage
    if storage.read_only:
        yield (
            Level.WRONG,
            "The disk with the data is mounted read-only; Linux does that when a disk fails.",
            "Look at the messages with 'dmesg', copy the data folder away, and replace the card or disk.",
        )
    if storage.fs_errors:
        yield (
            Level.WRONG,
            f"The file system counted {storage.fs_errors} errors.",
            "Copy the data folder away, have the file system checked (fsck) at the next start, and expect to "
            "replace the card or disk.",
        )
    if storage.worn_percent is not None and storage.worn_percent >= WORN_PERCENT:
        yield (
            Level.WRONG,
            f"The card says that {storage.worn_percent} % of its life is used up.",
            "Copy the data folder away and replace the card.",
        )
    if storage.damaged:
        yield (
            Level.WRONG,
            "gylewatch found damage in its record.",
            "Restart it: the damaged record is set aside and a new one begun. Damage mostly comes from a "
            "failing card or a weak power supply.",
        )
    if storage.free_bytes is not None and storage.free_bytes < LITTLE_ROOM_BYTES:
        yield (
            Level.WRONG,
            f"Only {storage.free_bytes / 1e6:,.0f} MB are free where the data lie.",
            "Make room: 'sudo apt-get clean', 'sudo journalctl --vacuum-size=100M', or a larger card.",
        )


THROTTLED: tuple[tuple[int, int, str, str], ...] = (
    (
        0,
        16,
        "The supply voltage is or was too low ({when}). That damages records and makes probes lie.",
        "Use the power supply made for this model and a short, thick cable; unplug what draws from USB.",
    ),
    (
        2,
        18,
        "The processor is or was slowed down ({when}).",
        "Mend the power supply first; then give the board air or a heat sink.",
    ),
    (
        3,
        19,
        "The board is or was at its limit of temperature ({when}).",
        "Give the board air or a heat sink, away from the fermenter.",
    ),
)
"""Bit for now, bit for since the start, what it says, remedy (Raspberry Pi documentation, get_throttled)."""


def _power(facts: Facts) -> Iterator[Seen]:
    word = facts.throttled or 0
    for now_bit, since_bit, sentence, remedy in THROTTLED:
        if word & (1 << now_bit):
            yield Level.WRONG, sentence.format(when="now"), remedy
        elif word & (1 << since_bit):
            yield Level.WRONG, sentence.format(when="at some time since the start"), remedy


def _clock(facts: Facts) -> Iterator[Seen]:
    clock = facts.clock
    shown = f"{clock.now:%Y-%m-%d %H:%M} UTC"
    if clock.now < clock.released:
        yield (
            Level.WRONG,
            f"The clock shows {shown}, which is before this version was made.",
            "Connect the machine to a network, or set the clock: "
            "sudo timedatectl set-time 'YEAR-MONTH-DAY HH:MM'",
        )
    elif clock.newest is not None and clock.now < clock.newest - SLACK:
        yield (
            Level.WRONG,
            f"The clock shows {shown}, but the record goes to {clock.newest:%Y-%m-%d %H:%M} UTC.",
            "Set the clock right; samples are kept apart until it is.",
        )
    elif clock.synchronised is False:
        yield (
            Level.WRONG,
            "The clock is not synchronised.",
            "Connect the machine to a network and switch the time service on: sudo timedatectl set-ntp true. "
            "Without a network add a clock module with a battery.",
        )


def _bus(facts: Facts) -> Iterator[Seen]:
    bus = facts.bus
    if bus.overlay is False and not bus.buses:
        yield (
            Level.WRONG,
            "The 1-wire interface is switched off.",
            "Add the line dtoverlay=w1-gpio to /boot/firmware/config.txt (or call the installer with "
            "--enable-1wire) and restart the machine.",
        )
    elif not bus.listable or not bus.buses:
        yield (
            Level.WRONG,
            f"There is no 1-wire bus in {bus.root}.",
            "Switch the 1-wire interface on (dtoverlay=w1-gpio in config.txt) and restart, or correct "
            "GYLEWATCH_W1_ROOT. Probes that send their values need no bus.",
        )
    elif not bus.probes:
        yield (
            Level.WRONG,
            "No probe answers on the 1-wire bus.",
            "Check the three wires, and the resistor of 4.7 kilohm between data (GPIO 4) and 3.3 V.",
        )
    if bus.sealed:
        yield (
            Level.NOTE,
            f"The user {facts.folder.user} may not write {', '.join(bus.sealed)}, so probes are read one "
            "after another.",
            "Put deploy/99-gylewatch-w1.rules into /etc/udev/rules.d (the installer does) and restart.",
        )


def _service(facts: Facts) -> Iterator[Seen]:
    service = facts.service
    if not service.answers:
        yield (
            Level.WRONG,
            f"No gylewatch answers on port {service.port}.",
            "sudo systemctl start gylewatch, then: journalctl -u gylewatch -n 30",
        )
    elif service.missing:
        yield (
            Level.WRONG,
            f"gylewatch runs but is not well: {'; '.join(service.missing)}.",
            "journalctl -u gylewatch -n 30 says more; the other findings here may be the cause.",
        )


def _port(facts: Facts) -> Iterator[Seen]:
    service = facts.service
    if not service.wide:
        return
    where = f"Port {service.port} is open on {', '.join(service.wide)}"
    if not service.meant:
        yield (
            Level.WRONG,
            f"{where}, not only on loopback as the settings say.",
            f"Another program has opened it: find it with 'sudo ss -ltnp sport = :{service.port}' and close "
            "it, or restart gylewatch if its settings were changed meanwhile.",
        )
    elif service.by_proxy:
        yield (
            Level.WRONG,
            f"{where}, though people come by the proxy on this machine; what goes round it is not encrypted.",
            "Set GYLEWATCH_HOST to 127.0.0.1 and restart.",
        )
    else:
        yield (
            Level.NOTE,
            f"{where}, as the settings say: passwords cross the network as they are typed.",
            "Put a proxy with TLS before it (deploy/proxy.md), or set GYLEWATCH_HOST to 127.0.0.1 and use "
            f"a tunnel: ssh -L {service.port}:127.0.0.1:{service.port}",
        )


def _record(facts: Facts) -> Iterator[Seen]:
    if not facts.record.exists:
        yield Level.NOTE, "There is no record yet.", "It is begun when gylewatch is started."
    if facts.record.trouble:
        yield (
            Level.WRONG,
            facts.record.trouble,
            "Call this as root or as the service's user; if that is so already, look at the disk.",
        )


def _backup(facts: Facts) -> Iterator[Seen]:
    remedy = "gylewatch record backup makes one now; the log says why the nightly one did not."
    now = facts.clock.now
    if facts.newest_backup is not None:
        age = now - facts.newest_backup
        if age > OLD_BACKUP:
            yield Level.WRONG, f"The newest backup is {age.days} days old.", remedy
    elif facts.has_backups or (facts.record.began is not None and now - facts.record.began > OLD_BACKUP):
        yield Level.WRONG, "There is no backup of the record.", remedy


def _channels(facts: Facts) -> Iterator[Seen]:
    if facts.record.exists and not facts.record.trouble and not facts.record.channels:
        yield (
            Level.NOTE,
            "There is no channel: alarms show on the page only.",
            "Add one on the page, and press its test button.",
        )
    for channel in facts.record.channels:
        if channel.sent:
            continue
        if channel.stuck:
            said = f" The far end said: {channel.far_end}." if channel.far_end else ""
            yield (
                Level.WRONG,
                f"The channel {channel.name} has never delivered anything; {channel.stuck} messages "
                f"could not leave.{said}",
                "Correct its address or password on the page, and press its test button.",
            )
        else:
            yield (
                Level.NOTE,
                f"The channel {channel.name} has never had a message to deliver.",
                "Press its test button on the page, so that you know that it works.",
            )


CHECKS: tuple[tuple[str, Callable[[Facts], Iterator[Seen]]], ...] = (
    ("power", _power),
    ("storage", _storage),
    ("data-folder", _folder),
    ("record", _record),
    ("clock", _clock),
    ("one-wire", _bus),
    ("service", _service),
    ("port", _port),
    ("backup", _backup),
    ("channels", _channels),
)

WELL = {
    "power": "Nothing is known against the power supply.",
    "storage": "The disk has room and shows no errors.",
    "data-folder": "The data folder can be used by the service, and read by nobody else.",
    "record": "The record can be read.",
    "clock": "The clock is right, as far as can be told.",
    "one-wire": "There are probes on the bus.",
    "service": "gylewatch runs and is well.",
    "port": "Its port is open to this machine only.",
    "backup": "There is a recent backup, or no need of one yet.",
    "channels": "No channel is known to fail.",
}
