"""What the doctor makes of facts: each trouble by its own check, with a remedy; a sound machine is well."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.doctor.checks import CHECKS, Level, examine
from service.doctor.facts import (
    BusFacts,
    ChannelFacts,
    ClockFacts,
    Facts,
    FolderFacts,
    RecordFacts,
    ServiceFacts,
    StorageFacts,
)
from service.doctor.telling import tell

NOW = datetime(2027, 3, 1, 12, 0, tzinfo=UTC)
BUS = BusFacts("/sys/bus/w1/devices", True, True, 1, 2)
FOLDER = FolderFacts("/var/lib/gylewatch", True, owner="gylewatch", user="gylewatch")
CLOCK = ClockFacts(NOW, datetime(2026, 11, 25, tzinfo=UTC), True, NOW - timedelta(minutes=1))
STORAGE = StorageFacts(20_000_000_000)
RECORD = RecordFacts(True, "", (ChannelFacts("Hall", 3, 0),), NOW - timedelta(days=90))
SERVICE = ServiceFacts(8330, True)
SOUND = Facts(BUS, FOLDER, CLOCK, STORAGE, RECORD, SERVICE, 0, True, NOW - timedelta(hours=9))


def test_a_sound_machine_is_well_in_every_check() -> None:
    findings = examine(SOUND)

    assert [one.name for one in findings] == [name for name, _ in CHECKS]
    assert {one.level for one in findings} == {Level.WELL}
    assert {one.remedy for one in findings} == {""}


WRONG: list[tuple[str, Facts, str, str]] = [
    (
        "one-wire",
        replace(SOUND, bus=BusFacts("/w1", False, False, 0, 0)),
        "switched off",
        "dtoverlay=w1-gpio",
    ),
    (
        "one-wire",
        replace(SOUND, bus=BusFacts("/w1", True, False, 0, 0)),
        "no 1-wire bus",
        "GYLEWATCH_W1_ROOT",
    ),
    ("one-wire", replace(SOUND, bus=BusFacts("/w1", None, True, 0, 0)), "no 1-wire bus", "dtoverlay=w1-gpio"),
    ("one-wire", replace(SOUND, bus=replace(BUS, probes=0)), "No probe answers", "4.7 kilohm"),
    (
        "data-folder",
        replace(SOUND, folder=replace(FOLDER, may_write=False, owner="root")),
        "belongs to root",
        "chown -R gylewatch: /var/lib/gylewatch",
    ),
    ("data-folder", replace(SOUND, folder=replace(FOLDER, foreign=("record.db",))), "record.db", "chown"),
    ("data-folder", replace(SOUND, folder=replace(FOLDER, open_to_others=True)), "Other users", "chmod 700"),
    ("data-folder", replace(SOUND, folder=replace(FOLDER, is_folder=False)), "no folder", "DATA_DIR"),
    ("clock", replace(SOUND, clock=replace(CLOCK, synchronised=False)), "not synchronised", "set-ntp true"),
    (
        "clock",
        replace(SOUND, clock=replace(CLOCK, now=datetime(2026, 11, 24, tzinfo=UTC))),
        "before this version",
        "set-time",
    ),
    (
        "clock",
        replace(SOUND, clock=replace(CLOCK, newest=NOW + timedelta(minutes=6))),
        "the record goes to 2027-03-01 12:06",
        "Set the clock right",
    ),
    ("power", replace(SOUND, throttled=0x1), "too low (now)", "power supply"),
    ("power", replace(SOUND, throttled=0x10000), "too low (at some time", "power supply"),
    ("power", replace(SOUND, throttled=0x4), "slowed down (now)", "heat sink"),
    ("power", replace(SOUND, throttled=0x80000), "limit of temperature (at some", "heat sink"),
    ("storage", replace(SOUND, storage=StorageFacts(499_000_000)), "Only 499 MB", "Make room"),
    ("storage", replace(SOUND, storage=replace(STORAGE, read_only=True)), "read-only", "dmesg"),
    ("storage", replace(SOUND, storage=replace(STORAGE, fs_errors=7)), "7 errors", "fsck"),
    ("storage", replace(SOUND, storage=replace(STORAGE, worn_percent=90)), "90 %", "replace the card"),
    ("storage", replace(SOUND, storage=replace(STORAGE, damaged=True)), "damage", "Restart"),
    ("record", replace(SOUND, record=RecordFacts(True, "It cannot be read.")), "cannot be read", "as root"),
    ("backup", replace(SOUND, newest_backup=NOW - timedelta(days=4)), "4 days old", "record backup"),
    ("backup", replace(SOUND, newest_backup=None), "no backup", "record backup"),
    ("backup", replace(SOUND, newest_backup=None, has_backups=False), "no backup", "record backup"),
    (
        "channels",
        replace(SOUND, record=replace(RECORD, channels=(ChannelFacts("Hall", 0, 2, "403 Forbidden"),))),
        "Hall has never delivered anything; 2 messages could not leave. The far end said: 403 Forbidden.",
        "test button",
    ),
    ("service", replace(SOUND, service=ServiceFacts(8330, False)), "No gylewatch answers", "systemctl start"),
    ("service", replace(SOUND, service=ServiceFacts(8330, True, ("no round",))), "no round", "journalctl"),
    (
        "port",
        replace(SOUND, service=ServiceFacts(8330, True, (), ("0.0.0.0",))),
        "open on 0.0.0.0",
        "ss -ltnp",
    ),
    (
        "port",
        replace(SOUND, service=ServiceFacts(8330, True, (), ("0.0.0.0",), meant=True, by_proxy=True)),
        "come by the proxy",
        "GYLEWATCH_HOST to 127.0.0.1",
    ),
]


@pytest.mark.parametrize(("name", "facts", "found", "remedy"), WRONG)
def test_each_trouble_is_found_by_its_check_alone_with_a_remedy(
    name: str, facts: Facts, found: str, remedy: str
) -> None:
    (wrong,) = [one for one in examine(facts) if one.level is Level.WRONG]

    assert wrong.name == name
    assert found in wrong.found
    assert remedy in wrong.remedy


NOTES: list[tuple[str, Facts, str]] = [
    ("one-wire", replace(SOUND, bus=replace(BUS, sealed=("/w1/therm_bulk_read",))), "one after another"),
    ("port", replace(SOUND, service=ServiceFacts(8330, True, (), ("::",), meant=True)), "cross the network"),
    ("data-folder", replace(SOUND, folder=replace(FOLDER, exists=False)), "not there yet"),
    ("record", replace(SOUND, record=RecordFacts(False)), "no record yet"),
    ("channels", replace(SOUND, record=replace(RECORD, channels=())), "on the page only"),
    ("channels", replace(SOUND, record=replace(RECORD, channels=(ChannelFacts("Hall", 0, 0),))), "never had"),
]


@pytest.mark.parametrize(("name", "facts", "found"), NOTES)
def test_what_is_only_worth_knowing_is_a_note(name: str, facts: Facts, found: str) -> None:
    findings = examine(facts)
    (note,) = [one for one in findings if one.level is not Level.WELL]

    assert (note.name, note.level) == (name, Level.NOTE)
    assert found in note.found
    assert note.remedy
    assert tell(findings, False, lambda _line: None) == 0


@pytest.mark.parametrize(
    "facts",
    [
        replace(SOUND, clock=replace(CLOCK, synchronised=None)),
        replace(SOUND, clock=replace(CLOCK, newest=NOW + timedelta(minutes=5))),
        replace(SOUND, storage=StorageFacts(500_000_000)),
        replace(SOUND, storage=StorageFacts(None)),
        replace(SOUND, storage=replace(STORAGE, worn_percent=80)),
        replace(SOUND, newest_backup=NOW - timedelta(days=3)),
        replace(
            SOUND,
            has_backups=False,
            newest_backup=None,
            record=replace(RECORD, began=NOW - timedelta(days=3)),
        ),
        replace(SOUND, throttled=None),
        replace(SOUND, throttled=0x2),
        replace(SOUND, record=replace(RECORD, channels=(ChannelFacts("Hall", 1, 5),))),
    ],
)
def test_what_is_just_good_enough_is_well(facts: Facts) -> None:
    assert {one.level for one in examine(facts)} == {Level.WELL}


@given(st.integers(0, 2**20))
@settings(max_examples=50)
def test_every_word_of_the_firmware_is_understood(word: int) -> None:
    findings = examine(replace(SOUND, throttled=word))

    told = word & 0b1101 or word & (0b1101 << 16)
    assert any(one.level is Level.WRONG for one in findings) == bool(told)


def test_it_tells_people_in_lines_and_machines_in_json() -> None:
    lines: list[str] = []
    machine: list[str] = []
    findings = examine(replace(SOUND, throttled=1))

    codes = (tell(findings, False, lines.append), tell(findings, True, machine.append))

    assert codes == (3, 3)
    assert lines[0].startswith("WRONG power: ")
    assert "power supply" in lines[1]
    assert lines[-1] == "To be mended: 1."
    assert '"wrong": 1' in machine[0]
