"""What is known of an installation before anything is judged: plain values, gathered elsewhere."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class BusFacts:
    """The 1-wire bus.

    root: where it should be. overlay: whether config.txt switches it on, None without such a file.
    listable: whether root can be listed. probes: on all buses. sealed: files of a bulk conversion that the
    service's user may not write.
    """

    root: str
    overlay: bool | None
    listable: bool
    buses: int
    probes: int
    sealed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FolderFacts:
    """The data folder.

    exists, is_folder: what is at its path. owner: the name of its owner. user: who the service runs as, as
    far as can be told. may_write: whether that user may write in it. foreign: files in it that the user may
    not write. open_to_others: whether other users of the machine may read in it.
    """

    path: str
    exists: bool
    is_folder: bool = True
    owner: str = ""
    user: str = ""
    may_write: bool = True
    foreign: tuple[str, ...] = ()
    open_to_others: bool = False


@dataclass(frozen=True, slots=True)
class ClockFacts:
    """The clock.

    synchronised: what the kernel was told by a time service, None when it cannot be asked. newest: the
    newest commit of the record.
    """

    now: datetime
    released: datetime
    synchronised: bool | None
    newest: datetime | None = None


@dataclass(frozen=True, slots=True)
class StorageFacts:
    """Where the data lie.

    free_bytes: None when that cannot be told. read_only: how it is mounted. fs_errors: what ext4 counted.
    worn_percent: the life that the card's own controller says is used up. damaged: what the program itself
    found.
    """

    free_bytes: int | None
    read_only: bool = False
    fs_errors: int = 0
    worn_percent: int | None = None
    damaged: bool = False


@dataclass(frozen=True, slots=True)
class ChannelFacts:
    """A way for messages to leave: how many left, and how many could not; words of the far end."""

    name: str
    sent: int
    stuck: int
    far_end: str = ""


@dataclass(frozen=True, slots=True)
class RecordFacts:
    """What the record says. trouble: why it could not be read, in words."""

    exists: bool
    trouble: str = ""
    channels: tuple[ChannelFacts, ...] = ()
    began: datetime | None = None


@dataclass(frozen=True, slots=True)
class ServiceFacts:
    """The running program.

    answers: its port answers. missing: what it says it lacks. wide: the addresses other than loopback on
    which that port is open. meant: whether the settings ask for that. by_proxy: whether the settings let
    people come by a proxy on this machine.
    """

    port: int
    answers: bool
    missing: tuple[str, ...] = ()
    wide: tuple[str, ...] = ()
    meant: bool = False
    by_proxy: bool = False


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything. throttled: the firmware's word on power and heat, None where there is none.

    newest_backup: its time, None without one. has_backups: whether there is a folder of them.
    """

    bus: BusFacts
    folder: FolderFacts
    clock: ClockFacts
    storage: StorageFacts
    record: RecordFacts
    service: ServiceFacts
    throttled: int | None = None
    has_backups: bool = False
    newest_backup: datetime | None = None
