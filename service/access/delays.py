"""Failed logins are answered later and later, and nobody is locked out.

What is counted is an account as tried from one address: a stranger who tries the owner's name makes only
himself wait. Two wider counts bound guessing: all names from one address, and everybody together. The last
one does not hold for an address from which that account is logged in already. All of it is forgotten with
the program, whose restart takes a person on the machine anyway.
"""

import math
import threading
from collections import OrderedDict, deque
from collections.abc import Callable
from ipaddress import IPv6Address, ip_address

from service.errors import TooSoonError

FREE = 3
"""Tries at one account from one address before they are slowed: people mistype."""

FREE_FOR_PEER = 12
LONGEST_S = 300.0
FORGOTTEN_S = 3600.0
EVERYBODY = 30
"""Tries a minute by all strangers together: with a password of 12 characters that is no danger."""

WITHIN_S = 60.0
REMEMBERED = 2000
"""Counts kept; beyond them the oldest goes, so that made-up addresses cannot fill the memory."""

Key = tuple[str, str]


class Delays:
    """Counts tries. Thread-safe; `monotonic` in seconds."""

    def __init__(self, monotonic: Callable[[], float]) -> None:
        self._monotonic = monotonic
        self._tried: OrderedDict[Key, tuple[int, float]] = OrderedDict()
        self._all: deque[float] = deque()
        self._lock = threading.Lock()

    def begin(self, name: str, peer: str, known: bool) -> None:
        """Count a try, which is taken for failed until `succeeded`; TooSoonError when it comes too soon.

        A try that comes too soon is not counted: waiting helps, and hammering makes nothing longer.
        known: the account is logged in from this address already.
        """
        now = self._monotonic()
        near = neighbourhood(peer)
        keys = (((name.casefold()[:100], near), FREE), (("", near), FREE_FOR_PEER))
        with self._lock:
            wait = max(self._wait_s(key, free, now) for key, free in keys)
            if not known:
                wait = max(wait, self._wait_for_all_s(now))
            if wait > 0:
                raise too_soon(wait)
            for key, _ in keys:
                count, _at = self._fresh(key, now)
                self._tried[key] = (count + 1, now)
                self._tried.move_to_end(key)
            while len(self._tried) > REMEMBERED:
                self._tried.popitem(last=False)
            self._all.append(now)

    def succeeded(self, name: str, peer: str) -> None:
        """The password was right: that account's count from there begins anew."""
        near = neighbourhood(peer)
        with self._lock:
            self._tried.pop((name.casefold()[:100], near), None)
            count, at = self._tried.get(("", near), (0, 0.0))
            if count:
                self._tried["", near] = (count - 1, at)
            if self._all:
                self._all.pop()

    def _fresh(self, key: Key, now: float) -> tuple[int, float]:
        count, at = self._tried.get(key, (0, now))
        return (0, now) if now - at > FORGOTTEN_S else (count, at)

    def _wait_s(self, key: Key, free: int, now: float) -> float:
        count, at = self._fresh(key, now)
        if count < free:
            return 0.0
        return at + min(LONGEST_S, 2.0 ** min(count - free, 20)) - now

    def _wait_for_all_s(self, now: float) -> float:
        while self._all and now - self._all[0] >= WITHIN_S:
            self._all.popleft()
        return self._all[0] + WITHIN_S - now if len(self._all) >= EVERYBODY else 0.0


def too_soon(wait_s: float) -> TooSoonError:
    """The refusal, with whole seconds to wait."""
    after = max(1, math.ceil(wait_s))
    seconds = "1 second" if after == 1 else f"{after} seconds"
    return TooSoonError(f"There were too many wrong tries; wait {seconds} and try again.", after)


def neighbourhood(peer: str) -> str:
    """The part of an address that one household has: an IPv4 address, or the /64 of an IPv6 address."""
    try:
        address = ip_address(peer.split("%")[0])
    except ValueError:
        return peer[:100]
    if not isinstance(address, IPv6Address):
        return str(address)
    if address.ipv4_mapped is not None:
        return str(address.ipv4_mapped)
    return str(IPv6Address(int(address) >> 64 << 64))
