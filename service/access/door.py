"""What must be remembered while the program runs, and how the door is set up."""

import time
from collections.abc import Callable
from dataclasses import dataclass, field

from service.access.delays import Delays
from service.access.hosts import Network
from service.access.keys import as_typed, hashed, new_code, same
from service.access.passwords import Passwords


@dataclass(frozen=True, slots=True)
class Door:
    """How people come to the door.

    names: host names under which this gylewatch may be addressed, beside loopback's. proxies: whose word
    about others is believed. prefix: the path under which a proxy serves it, such as ``/beer``, or empty.
    """

    names: frozenset[str] = frozenset()
    proxies: tuple[Network, ...] = ()
    prefix: str = ""


class FirstCode:
    """The code that makes the first account from a page; it is told in the log, and good once."""

    def __init__(self) -> None:
        self._hash = ""

    def issue(self, fresh: Callable[[], str] = new_code) -> str:
        """A new code; an earlier one ends."""
        code = fresh()
        self._hash = hashed(as_typed(code))
        return code

    def fits(self, typed: str) -> bool:
        """Whether this is the code; without one nothing fits."""
        return self._hash != "" and same(hashed(as_typed(typed)), self._hash)

    def spend(self) -> None:
        """It has been used."""
        self._hash = ""


@dataclass(frozen=True, slots=True)
class Access:
    """The parts that people come in by."""

    passwords: Passwords = field(default_factory=Passwords)
    delays: Delays = field(default_factory=lambda: Delays(time.monotonic))
    code: FirstCode = field(default_factory=FirstCode)
