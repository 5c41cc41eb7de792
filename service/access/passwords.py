"""Passwords: what is refused, and the slow hash.

argon2id with 19 MiB, two passes, one lane: the least that the OWASP Password Storage Cheat Sheet names, and
what a small Pi can spare. Hashes are made one at a time, so that many logins at once cannot take its memory.
"""

import threading
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cached_property
from typing import TYPE_CHECKING

from service.access.common_passwords import COMMON
from service.errors import InvalidInputError, Problem, TooSoonError

if TYPE_CHECKING:
    from argon2 import PasswordHasher

SHORTEST = 12
LONGEST = 256
MEMORY_KIB = 19_456
PASSES = 2
MOST_WAITING = 4


def checked(password: str, field: str = "/password") -> str:
    """The password as it is hashed (NFKC), or InvalidInputError with what is wrong.

    Long enough and not among the commonest is all that is asked (NIST SP 800-63B): no rules of composition.
    """
    try:
        password.encode()
    except UnicodeEncodeError:
        raise _refused(field, "holds half a character", "Type it anew.") from None
    plain = normal(password)
    if len(plain) < SHORTEST:
        raise _refused(
            field,
            f"must have at least {SHORTEST} characters",
            "Take some words that do not belong together; spaces are welcome.",
        )
    if len(plain) > LONGEST:
        raise _refused(field, f"must have at most {LONGEST} characters", "Take a shorter one.")
    if plain.casefold() in COMMON:
        raise _refused(
            field,
            "is one of the passwords that are tried first everywhere",
            "Take another: some words that do not belong together.",
        )
    return plain


def normal(password: str) -> str:
    """The same characters however a keyboard composed them."""
    return unicodedata.normalize("NFKC", password)


def _refused(field: str, problem: str, remedy: str) -> InvalidInputError:
    return InvalidInputError(Problem(field, problem, remedy))


class Passwords:
    """Hashes and verifies, one at a time. Blocks: to be called from worker threads."""

    def __init__(self, memory_kib: int = MEMORY_KIB, passes: int = PASSES) -> None:
        self._passes = passes
        self._memory_kib = memory_kib
        self._one = threading.Lock()
        self._places = threading.BoundedSemaphore(MOST_WAITING)
        self._nobody = ""

    @cached_property
    def _hasher(self) -> "PasswordHasher":
        """Loaded with the first password: most runs of the program never see one."""
        from argon2 import PasswordHasher

        _give_large_memory_back()
        return PasswordHasher(time_cost=self._passes, memory_cost=self._memory_kib, parallelism=1)

    def hash(self, password: str) -> str:
        """A hash to store. TooSoonError when too many wait already."""
        with self._alone():
            return self._hasher.hash(normal(password))

    def fits(self, stored: str | None, password: str) -> bool:
        """Whether it is the password of that hash.

        None: nobody has that name; it takes as long as with somebody, so that names cannot be found out.
        """
        with self._alone():
            from argon2.exceptions import InvalidHashError, VerificationError

            if stored is None:
                self._nobody = self._nobody or self._hasher.hash("nobody at all")
            try:
                self._hasher.verify(
                    self._nobody if stored is None else stored,
                    normal(password).encode("utf-8", "surrogatepass"),
                )
            except (VerificationError, InvalidHashError):
                return False
            return stored is not None

    def is_old(self, stored: str) -> bool:
        """Whether the hash was made with other parameters than today's."""
        return self._hasher.check_needs_rehash(stored)

    @contextmanager
    def _alone(self) -> Iterator[None]:
        if not self._places.acquire(blocking=False):
            raise TooSoonError("Too many are logging in at this moment; try again in some seconds.", 2)
        try:
            with self._one:
                yield
        finally:
            self._places.release()


M_MMAP_THRESHOLD = -3
LARGE = 131_072


def _give_large_memory_back() -> None:
    """Have pieces of 128 KiB and more taken from the system and given back whole (mallopt(3), glibc).

    Left to itself, glibc takes 19 MiB for a usual size after the first hash, and keeps as much for ever.
    """
    import ctypes

    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
    if mallopt is not None:
        mallopt(M_MMAP_THRESHOLD, LARGE)
