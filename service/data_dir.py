"""The data folder: made when missing, writable, and held by one running program at a time."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from service.errors import SettingsError


@contextmanager
def hold(folder: Path) -> Iterator[None]:
    """Hold the folder's lock while the service runs; SettingsError in words when that cannot be."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)  # the record holds the passwords of channels
        lock = os.open(folder / "lock", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    except OSError as refused:
        raise SettingsError(
            f"The data folder {folder} cannot be used: {refused.strerror}. Give a folder that this user may "
            "write with GYLEWATCH_DATA_DIR, or change its owner."
        ) from None
    try:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise SettingsError(
                f"Another gylewatch uses the data folder {folder} already. Stop that one first, or give this "
                "one another folder with GYLEWATCH_DATA_DIR."
            ) from None
        yield
    finally:
        os.close(lock)
