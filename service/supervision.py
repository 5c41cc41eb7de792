"""What a supervisor such as systemd is told: the service is ready, still goes round, or ends.

The protocol is one datagram of lines to the socket named in ``NOTIFY_SOCKET`` (sd_notify(3)). Without that
variable nobody listens, and nothing here does anything.
"""

import logging
import os
import socket
import threading
from collections.abc import Callable, Mapping, Sequence

from service.errors import GylewatchError

log = logging.getLogger("gylewatch")

SLOWEST_IDLE_S = 30.0
"""The longest that a loop other than the sweeps rests between two rounds: the deliverer's."""

MARGIN_S = 30.0
LOOKS = 8
"""How often within the time allowed it is looked whether every loop came round."""


class Notifier:
    """Sends lines to the supervisor's socket.

    address: a path, or an abstract name that begins with ``@``; None when nobody listens.
    """

    def __init__(self, address: str | None) -> None:
        self._address = address

    @property
    def listened_to(self) -> bool:
        """Whether there is a supervisor that listens."""
        return bool(self._address)

    def tell(self, *lines: str) -> None:
        """Send lines as one datagram. A supervisor that cannot be reached is no reason to stop watching."""
        if not self._address:
            return
        address = "\0" + self._address[1:] if self._address.startswith("@") else self._address
        try:
            with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as out:
                out.settimeout(1.0)
                out.sendto("\n".join(lines).encode(), address)
        except OSError as refused:
            log.warning("the supervisor could not be told %s: %s", lines[0], refused.strerror or refused)


def watchdog_s(environment: Mapping[str, str], pid: int) -> float | None:
    """The seconds within which the supervisor wants to hear from process `pid`; None: it does not wait."""
    if environment.get("WATCHDOG_PID", str(pid)) != str(pid):
        return None
    given = environment.get("WATCHDOG_USEC", "")
    return int(given) / 1e6 if given.isdecimal() and int(given) > 0 else None


def allowed_s(asked_s: float, sweep_s: float) -> float:
    """The time to ask for: what the unit says, or more where a healthy loop comes round less often."""
    return max(asked_s, 3 * max(sweep_s, SLOWEST_IDLE_S) + MARGIN_S)


def came_round(before: Mapping[str, int], now: Mapping[str, int]) -> bool:
    """Whether every loop has come round since `before`."""
    return all(now[name] > before[name] for name in before)


class Rounds:
    """Counts the rounds of a loop that keeps no count itself."""

    def __init__(self) -> None:
        self.count = 0

    def one_more(self) -> None:
        """The loop came round; called by its own thread only."""
        self.count += 1


class Supervised:
    """A part of the running program that keeps the supervisor told.

    loops: for each loop, how often it came round, whether or not it succeeded. nudges: make those loops go
    round that rest while there is no work; each may raise GylewatchError, and may be as stuck as its loop is:
    then the supervisor hears nothing, and starts the program anew. sweep_s: seconds from one sweep to the
    next. look_s: seconds between two looks at the loops, an eighth of the time allowed unless said.
    """

    def __init__(
        self,
        notifier: Notifier,
        watchdog: float | None,
        sweep_s: float,
        loops: Mapping[str, Callable[[], int]],
        nudges: Sequence[Callable[[], object]],
        look_s: float | None = None,
    ) -> None:
        self._notifier = notifier
        self._allowed_s = None if watchdog is None else allowed_s(watchdog, sweep_s)
        self._asked_s = watchdog
        self._look_s = look_s
        self._loops = loops
        self._nudges = nudges
        self._open = threading.Event()
        self._stopping = threading.Event()

    def start(self) -> None:
        """Begin to tell."""
        if self._notifier.listened_to:
            threading.Thread(target=self._tell, name="supervised", daemon=True).start()

    def opened(self) -> None:
        """The server answers from now on."""
        self._open.set()

    def stop(self) -> None:
        """Tell that the program ends."""
        self._stopping.set()
        self._notifier.tell("STOPPING=1")

    def _counts(self) -> dict[str, int]:
        return {name: count() for name, count in self._loops.items()}

    def _tell(self) -> None:
        nothing_yet = dict.fromkeys(self._loops, 0)
        while not (self._open.is_set() and came_round(nothing_yet, self._counts())):
            if self._stopping.wait(0.05):
                return
            self._nudge()
        if self._allowed_s is not None and self._allowed_s != self._asked_s:
            self._notifier.tell(f"WATCHDOG_USEC={round(self._allowed_s * 1e6)}")
        self._notifier.tell("READY=1", "STATUS=Watching.")
        if self._allowed_s is None:
            return
        before = self._counts()
        while not self._stopping.wait(self._look_s or self._allowed_s / LOOKS):
            self._nudge()
            now = self._counts()
            if came_round(before, now):
                self._notifier.tell("WATCHDOG=1")
                before = now

    def _nudge(self) -> None:
        for nudge in self._nudges:
            try:
                nudge()
            except GylewatchError as refused:  # it came round all the same
                log.debug("nudged: %s", refused)


def supervised_from(
    environment: Mapping[str, str],
    sweep_s: float,
    loops: Mapping[str, Callable[[], int]],
    nudges: Sequence[Callable[[], object]],
) -> Supervised:
    """The part for what the supervisor left in the environment."""
    return Supervised(
        Notifier(environment.get("NOTIFY_SOCKET")),
        watchdog_s(environment, os.getpid()),
        sweep_s,
        loops,
        nudges,
    )
