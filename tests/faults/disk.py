"""A disk that loses what was not synced when the power goes.

The running program's writes are written down by a preloaded library. A power cut at any place of that list
is played by making the folder anew: what a completed sync covers is there; of what came later anything may
be there, in any order, even half a page. As POSIX has it, a name is sure only after a sync of its folder;
of names that are not sure the earlier ones survive before the later ones, as in a journal.
"""

import shutil
import struct
from bisect import bisect_right
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from random import Random

from tests.faults.shims import shim

HEAD = struct.Struct("<QIIc7x")
SECTOR = 512
NEVER_KEPT = ("-shm", "/lock")
NAMING = frozenset("CURMX")


class Fate(StrEnum):
    """What becomes of the writes that no sync covers."""

    GONE = "gone"
    CUT_SHORT = "cut short"
    SCATTERED = "scattered"


@dataclass(frozen=True, slots=True)
class Act:
    """One thing that was asked of the disk, and the place in the list behind it."""

    kind: str
    path: str
    place: int
    more: bytes
    end: int


def acts_in(log: bytes) -> Iterator[Act]:
    """What the list holds; the last act may be cut off by a kill, and then did not reach the disk."""
    at = 0
    while at + HEAD.size <= len(log):
        place, path, more, kind = HEAD.unpack_from(log, at)
        start, end = at + HEAD.size, at + HEAD.size + path + more
        if end > len(log):
            return
        yield Act(kind.decode(), log[start : start + path].decode(), place, log[start + path : end], end)
        at = end


def contents(folder: Path) -> dict[str, bytes]:
    """Every file that a power cut would leave, by its path."""
    return {
        str(path): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not str(path).endswith(NEVER_KEPT)
    }


class Disk:
    """The disk below `folder`, for one program at a time that runs with `environment`."""

    def __init__(self, folder: Path, workshop: Path) -> None:
        self.folder = folder
        self.log = workshop / "disk.log"
        self._cut = workshop / "disk.cut"
        workshop.mkdir(parents=True, exist_ok=True)
        self.environment = {
            "LD_PRELOAD": str(shim("disk", workshop)),
            "DISK_ROOT": str(folder),
            "DISK_LOG": str(self.log),
            "DISK_CUT": str(self._cut),
        }
        self._before: dict[str, bytes] = {}
        self.settle()

    def settle(self) -> None:
        """Everything that is there now is on the disk for good; the program must not run."""
        self._before = contents(self.folder) if self.folder.exists() else {}
        self.log.write_bytes(b"")
        self._cut.write_bytes(bytes(8))

    def written(self) -> int:
        """How long the list is by now."""
        return self.log.stat().st_size

    def goes_after(self, acts: int) -> None:
        """Let the power go in the midst of the act that is the so-manieth from now on."""
        with self._cut.open("r+b") as file:
            file.write(struct.pack("=Q", acts))

    def list(self) -> "Written":
        """What was asked of the disk since it was settled."""
        return Written(self._before, list(acts_in(self.log.read_bytes())))

    def cut_the_power(self, chance: Random) -> int:
        """What is left of the folder; the program must be dead.

        Returns how many acts on the record were not synced.
        """
        listed = self.list()
        left, unsure = listed.left(len(listed.acts), chance, chance.choice(list(Fate)))
        lay(left, self.folder)
        self.settle()
        return unsure


def lay(left: Mapping[str, bytes], folder: Path, instead: Path | None = None) -> None:
    """Make the folder (or another one in its place) hold exactly these files."""
    target = instead or folder
    shutil.rmtree(target, ignore_errors=True)
    target.mkdir(mode=0o700)
    for path, body in left.items():
        file = target / Path(path).relative_to(folder)
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(body)


class Written:
    """A list of acts on top of what was there before."""

    def __init__(self, before: Mapping[str, bytes], acts: Sequence[Act]) -> None:
        self.before = before
        self.acts = acts
        self._ends = [act.end for act in acts]

    def place_at(self, size: int) -> int:
        """How many acts the list held when it was that long."""
        return bisect_right(self._ends, size)

    def left(self, upto: int, chance: Random, fate: Fate, syncs: bool = True) -> tuple[dict[str, bytes], int]:
        """The files after a cut behind so many acts, and how many of those on a record nothing had made sure.

        syncs: False plays a disk (or a program) to which a sync means nothing.
        """
        sure = self._sure(upto, syncs)
        unsure = [n for n in range(upto) if not sure[n] and self.acts[n].kind not in "BED"]
        names = [n for n in unsure if self.acts[n].kind in NAMING]
        kept_names = frozenset(names[: 0 if fate is Fate.GONE else chance.randint(0, len(names))])
        data = [n for n in unsure if self.acts[n].kind not in NAMING]
        whole: Callable[[int], bool]
        if fate is Fate.CUT_SHORT:
            last = chance.randint(0, len(data))
            in_time = frozenset(data[:last])
            whole = in_time.__contains__
        else:
            whole = frozenset[int]().__contains__
        replay = _Replay(self.before)
        for n in range(upto):
            act = self.acts[n]
            if act.kind in NAMING:
                replay.name(act, sure[n] or n in kept_names)
            elif sure[n] or whole(n):
                replay.fill(act)
            elif fate is Fate.SCATTERED and act.kind in "WT":
                replay.scatter(act, chance)
        return replay.files(), sum("record.db" in self.acts[n].path for n in unsure)

    def everything(self) -> dict[str, bytes]:
        """The files if all of it reached the disk: must be what the folder holds after a clean end."""
        replay = _Replay(self.before)
        for act in self.acts:
            if act.kind in NAMING:
                replay.name(act, True)
            else:
                replay.fill(act)
        return replay.files()

    def _sure(self, upto: int, syncs: bool) -> list[bool]:
        """For each act, whether a sync that was complete by then covers it."""
        life = self._lives(upto)
        begun: dict[int, int] = {}
        file_sure: dict[tuple[str, int], int] = {}
        folder_sure: dict[str, int] = {}
        for n, act in enumerate(self.acts[:upto]):
            if act.kind == "B":
                begun[act.place] = n
            elif act.kind == "E" and syncs:
                file_sure[act.path, life[n]] = begun[act.place]
            elif act.kind == "D" and syncs:
                folder_sure[act.path] = begun[act.place]
        sure = []
        for n, act in enumerate(self.acts[:upto]):
            if act.kind in NAMING:
                target = act.more.decode() if act.kind == "R" else act.path
                sure.append(n < folder_sure.get(target.rpartition("/")[0], -1))
            else:
                sure.append(n < file_sure.get((act.path, life[n]), -1))
        return sure

    def _lives(self, upto: int) -> list[int]:
        """For each act, the how-manieth file of its path it is about."""
        made: dict[str, int] = {}
        lives = []
        for act in self.acts[:upto]:
            born = act.more.decode() if act.kind == "R" else act.path if act.kind == "C" else ""
            if born:
                made[born] = made.get(born, 0) + 1
            lives.append(made.get(act.path, 0))
        return lives


class _Replay:
    """Plays acts: what the program sees decides which file is meant, what survives decides what is there."""

    def __init__(self, before: Mapping[str, bytes]) -> None:
        self._bodies = [bytearray(body) for body in before.values()]
        self._seen = {path: n for n, path in enumerate(before)}
        self._there = dict(self._seen)

    def name(self, act: Act, survives: bool) -> None:
        """A name is made, given to another file, or removed."""
        if act.kind == "C":
            self._bodies.append(bytearray())
            self._seen[act.path] = len(self._bodies) - 1
            if survives:
                self._there[act.path] = self._seen[act.path]
        elif act.kind == "U":
            self._seen.pop(act.path, None)
            if survives:
                self._there.pop(act.path, None)
        elif act.kind == "R":
            target = act.more.decode()
            number = self._seen.pop(act.path, None)
            if number is None:
                return
            self._seen[target] = number
            if survives:
                self._there.pop(act.path, None)
                self._there[target] = number

    def fill(self, act: Act) -> None:
        """A write or a truncation that reached the disk."""
        number = self._seen.get(act.path)
        if number is None:
            return
        body = self._bodies[number]
        if act.kind == "W":
            body.extend(b"\0" * (act.place - len(body)))
            body[act.place : act.place + len(act.more)] = act.more
        elif act.kind == "T":
            del body[act.place :]
            body.extend(b"\0" * (act.place - len(body)))

    def scatter(self, act: Act, chance: Random) -> None:
        """A write of which each sector reached the disk or did not; a truncation that did or did not."""
        if act.kind == "T":
            if chance.random() < 0.5:
                self.fill(act)
            return
        at = 0
        while at < len(act.more):
            size = min(SECTOR - (act.place + at) % SECTOR, len(act.more) - at)
            if chance.random() < 0.5:
                self.fill(Act("W", act.path, act.place + at, act.more[at : at + size], act.end))
            at += size

    def files(self) -> dict[str, bytes]:
        """What is there."""
        return {path: bytes(self._bodies[number]) for path, number in self._there.items()}
