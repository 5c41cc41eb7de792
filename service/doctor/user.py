"""What a user may do with files, told from their owner and mode: root may do all, so trying tells nothing."""

import os
import pwd
import stat
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class User:
    """A user of this machine and the groups it belongs to."""

    name: str
    uid: int
    gids: frozenset[int]

    def may_write(self, path: Path) -> bool:
        """Whether the user may write a file, or make files in a folder."""
        found = path.stat()
        wanted = 0o3 if stat.S_ISDIR(found.st_mode) else 0o2
        if self.uid == 0:
            return True
        if found.st_uid == self.uid:
            granted = found.st_mode >> 6
        elif found.st_gid in self.gids:
            granted = found.st_mode >> 3
        else:
            granted = found.st_mode
        return granted & wanted == wanted


def user_of(uid: int) -> User:
    """The user with a number, also when it has no name."""
    try:
        entry = pwd.getpwuid(uid)
    except KeyError:
        return User(str(uid), uid, frozenset())
    return User(entry.pw_name, uid, frozenset(os.getgrouplist(entry.pw_name, entry.pw_gid)))


def name_of(uid: int) -> str:
    """A user's name, or its number."""
    return user_of(uid).name


def service_user(caller: int, named: str) -> User:
    """Who the service runs as: the user made for it when root asks and there is one, else the caller."""
    if caller == 0:
        try:
            return user_of(pwd.getpwnam(named).pw_uid)
        except KeyError:
            pass
    return user_of(caller)
