"""Which values to believe. Pure: a probe's state and what came in, out comes a new state and a verdict.

Nothing here waits for a value to be explained: what is refused is a fault with its kind, and the last
believed value stays the last.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from types import MappingProxyType

from sensors.bus import RawValue, Sweep
from sensors.buses import buses_of
from sensors.sample import FaultKind, ProbeFault, ProbeId
from sensors.scratchpad import agrees, is_intact, is_power_on, is_zeros, resolution, temperature_c
from sensors.wholebus import whole_bus, with_the_gone

POWER_ON_C = 85.0
DISCONNECTED_C = -127.0
"""What widespread reading libraries return for a probe that is not there (from memory)."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Where belief ends. Degrees Celsius and seconds.

    low_c, high_c: the part's range (DS18B20 datasheet).
    jump_c, jump_c_per_s: a probe in liquid is allowed 3 C (a mash stirred, a pocket of hot or cold
        passing) and on top 0.2 C for each second since the last believed value: 3 kW into 5 litres of
        water is 0.14 C/s, and an ice bath takes heat out no faster. A probe lifted out of air into hot
        wort moves faster than that, and is believed as soon as it settles.
    jump_most_c: no more than this however long ago, so that 85 C after 20 C never passes unasked.
    agree_c, agree_count: so many values in a row within so much make a jump true.
    slow_read_s: two conversions at 12 bits (750 ms, DS18B20 datasheet).
    frozen_after_s, others_moved_c: a probe that shows sixteenths cannot stand still for 12 h while
        another moves 2 C: even 25 litres under lagging (time constant 35 h) move a step in that time.
    fine_c: the coarsest step at which standing still says anything; at half degrees it does not.
    gone_for_s: how long a probe that vanished is counted as a fault; after that its silence speaks.
    """

    low_c: float = -55.0
    high_c: float = 125.0
    jump_c: float = 3.0
    jump_c_per_s: float = 0.2
    jump_most_c: float = 40.0
    agree_c: float = 0.5
    agree_count: int = 3
    slow_read_s: float = 1.5
    frozen_after_s: float = 12 * 3600.0
    others_moved_c: float = 2.0
    fine_c: float = 0.13
    gone_for_s: float = 3600.0


LIMITS = Limits()

_NOBODY: Mapping[ProbeId, float] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Believed:
    """A value to be believed. fast_change: it jumped, and only the agreement of several made it true."""

    value: RawValue
    fast_change: bool = False


@dataclass(frozen=True, slots=True)
class ScreeningState:
    """What is remembered of one probe.

    last: the last believed value. candidates: what a jump has shown so far, in C.
    gone_since: when it vanished. returning: the next value is the first after it came back.
    still: the first of those values that have not changed since; still_others: what other probes showed
    then; others_moved: whether one has moved since. finest_c: the smallest step ever seen.
    """

    last: RawValue | None = None
    candidates: tuple[float, ...] = ()
    gone_since: datetime | None = None
    returning: bool = False
    still: RawValue | None = None
    still_others: tuple[tuple[ProbeId, float], ...] = ()
    others_moved: bool = False
    finest_c: float = math.inf


Verdict = Believed | ProbeFault


def screen(
    state: ScreeningState,
    seen: RawValue | ProbeFault,
    others: Mapping[ProbeId, float] = _NOBODY,
    limits: Limits = LIMITS,
) -> tuple[ScreeningState, Verdict]:
    """Believe what was seen of one probe, or say why not. others: what other probes last showed, in C."""
    if isinstance(seen, ProbeFault):
        return _without_a_value(state, seen), seen
    if refused := _lie(state, seen, limits):
        return state, refused
    state = replace(_watch_stillness(state, seen, others, limits), gone_since=None)
    if state.returning:
        detail = f"{seen.raw_c:.4f} C was the first value after the probe appeared"
        return replace(state, returning=False), _fault(seen, FaultKind.FIRST_VALUE, detail)
    if refused := _frozen(state, seen, limits):
        return state, refused
    return _judge_jump(state, seen, limits)


def _fault(value: RawValue, kind: FaultKind, detail: str) -> ProbeFault:
    return ProbeFault(value.probe_id, value.at, kind, detail)


def _without_a_value(state: ScreeningState, fault: ProbeFault) -> ScreeningState:
    if fault.kind not in (FaultKind.VANISHED, FaultKind.LINGERS):
        return state
    return replace(state, returning=True, gone_since=state.gone_since or fault.at)


def _lie(state: ScreeningState, value: RawValue, limits: Limits) -> ProbeFault | None:
    """What is wrong with a value whatever came before it (but for 85 C, which may be true)."""
    if value.scratchpad is not None and (refused := _bad_bytes(value, value.scratchpad)):
        return refused
    if value.raw_c == DISCONNECTED_C:
        return _fault(value, FaultKind.DISCONNECTED, "-127 C")
    if not limits.low_c <= value.raw_c <= limits.high_c:
        return _fault(value, FaultKind.OUT_OF_RANGE, f"{value.raw_c:.4f} C")
    if value.read_s > limits.slow_read_s:
        return _fault(value, FaultKind.SLOW, f"the read took {value.read_s:.1f} s")
    if value.raw_c == POWER_ON_C and _is_out_of_the_blue(state, value, limits):
        return _fault(value, FaultKind.POWER_ON, "85 C exactly, out of the blue")
    return None


def _is_out_of_the_blue(state: ScreeningState, value: RawValue, limits: Limits) -> bool:
    """Whether nothing led up to this value. Copies of the part do not all mark the power-on value, so a
    repeat must not make it true; on the stove 85.0 comes after 84 and goes on to 86."""
    if state.last is None:
        return value.scratchpad is None
    return _jumped(state.last, value, limits)


def _bad_bytes(value: RawValue, scratchpad: bytes) -> ProbeFault | None:
    shown = scratchpad.hex(" ")
    if is_zeros(scratchpad):
        return _fault(value, FaultKind.ZEROS, "nine zero bytes")
    if not is_intact(scratchpad):
        return _fault(value, FaultKind.CRC, f"the checksum of {shown} is wrong")
    if is_power_on(scratchpad):
        return _fault(value, FaultKind.POWER_ON, shown)
    says_c = temperature_c(scratchpad, value.probe_id[:2])
    if not agrees(says_c, value.raw_c, value.probe_id[:2]):
        return _fault(value, FaultKind.CONTRADICTS, f"{shown} says {says_c:.4f} C, not {value.raw_c:.4f} C")
    return None


def _jumped(last: RawValue, value: RawValue, limits: Limits) -> bool:
    """Whether a value is further from the last believed one than the time between them allows."""
    since_s = max((value.at - last.at).total_seconds(), 0.0)
    allowed_c = min(limits.jump_c + limits.jump_c_per_s * since_s, limits.jump_most_c)
    return abs(value.raw_c - last.raw_c) > allowed_c


def _judge_jump(state: ScreeningState, value: RawValue, limits: Limits) -> tuple[ScreeningState, Verdict]:
    believed = replace(state, last=value, candidates=())
    if state.last is None or not _jumped(state.last, value, limits):
        return believed, Believed(value)
    candidates = (*state.candidates, value.raw_c)
    while max(candidates) - min(candidates) > limits.agree_c:
        candidates = candidates[1:]
    if len(candidates) >= limits.agree_count:
        return believed, Believed(value, fast_change=True)
    detail = f"{value.raw_c:.4f} C after {state.last.raw_c:.4f} C"
    return replace(state, candidates=candidates), _fault(value, FaultKind.JUMP, detail)


def _watch_stillness(
    state: ScreeningState, value: RawValue, others: Mapping[ProbeId, float], limits: Limits
) -> ScreeningState:
    if state.still is None or state.still.raw_c != value.raw_c:
        step = math.inf if state.still is None else abs(value.raw_c - state.still.raw_c)
        return replace(
            state,
            still=value,
            still_others=tuple(others.items()),
            others_moved=False,
            finest_c=min(state.finest_c, step),
        )
    then = dict(state.still_others)
    moved = any(abs(others.get(probe, was) - was) >= limits.others_moved_c for probe, was in then.items())
    return replace(
        state,
        still_others=tuple((dict(others) | then).items()),
        others_moved=state.others_moved or moved,
    )


def _frozen(state: ScreeningState, value: RawValue, limits: Limits) -> ProbeFault | None:
    still_s = (value.at - (state.still or value).at).total_seconds()
    if still_s < limits.frozen_after_s or not state.others_moved or not _is_fine(state, value, limits):
        return None
    return _fault(value, FaultKind.FROZEN, f"{value.raw_c:.4f} C for {still_s / 3600:.0f} hours")


def _is_fine(state: ScreeningState, value: RawValue, limits: Limits) -> bool:
    """Whether the probe shows small enough steps for standing still to mean anything."""
    if state.finest_c <= limits.fine_c:
        return True
    return value.scratchpad is not None and value.probe_id[:2] != "10" and resolution(value.scratchpad) >= 11


class Screen:
    """The screening of all probes of one source, between one sweep and the next.

    elsewhere: what probes of other sources last showed, in C; they bear witness that one is frozen.
    """

    def __init__(
        self, limits: Limits = LIMITS, elsewhere: Callable[[], Mapping[ProbeId, float]] = lambda: _NOBODY
    ) -> None:
        self._limits = limits
        self._elsewhere = elsewhere
        self._states: dict[ProbeId, ScreeningState] = {}
        self._buses: tuple[frozenset[ProbeId], ...] = ()
        self._has_swept = False

    def sift(self, sweep: Sweep, now: datetime) -> tuple[tuple[Believed, ...], tuple[ProbeFault, ...]]:
        """What of a sweep to believe, and the faults: the source's own, those found here, and one for
        each known probe that the sweep does not mention any more. now: aware UTC.

        A probe that appears while the program runs has just got its supply, or may give a value left
        from before it went: its first value is not believed. On the first sweep it is: then it is the
        program that is new, and the beer should not wait for that.
        """
        brought: list[RawValue | ProbeFault] = [*sweep.values, *sweep.faults]
        mentioned = sweep.present | {seen.probe_id for seen in brought}
        for probe in mentioned - self._states.keys():
            self._states[probe] = ScreeningState(returning=self._has_swept)
        self._has_swept = True
        believed: list[Believed] = []
        faults: list[ProbeFault] = []
        gone = self._gone(mentioned, now)
        for seen in [*brought, *gone]:
            verdict = self._screen(seen)
            if isinstance(verdict, Believed):
                believed.append(verdict)
            else:
                faults.append(verdict)
        self._buses = with_the_gone(buses_of(sweep), self._buses, frozenset(fault.probe_id for fault in gone))
        return tuple(believed), whole_bus(faults, self._buses)

    def sift_one(self, value: RawValue) -> Verdict:
        """Whether to believe one value that arrived by itself.

        One that is older than the last believed belongs to the past: it is judged by itself, neither
        jumps from now nor shows stillness, and changes nothing for what comes.
        """
        last = self._states.setdefault(value.probe_id, ScreeningState()).last
        if last is not None and value.at < last.at:
            return screen(ScreeningState(), value, limits=self._limits)[1]
        return self._screen(value)

    def forget(self, probe: ProbeId) -> None:
        """Drop what is known of a probe: it was taken out of use, and is not missed."""
        self._states.pop(probe, None)

    def state_of(self, probe: ProbeId) -> ScreeningState | None:
        """What is remembered of a probe, None when nothing is."""
        return self._states.get(probe)

    def put_back(self, probe: ProbeId, state: ScreeningState | None) -> None:
        """Remember that of a probe instead: what was seen since does not count."""
        if state is None:
            self._states.pop(probe, None)
        else:
            self._states[probe] = state

    def last_values(self) -> dict[ProbeId, float]:
        """The last believed value of each probe, in C."""
        return {p: state.last.raw_c for p, state in self._states.items() if state.last is not None}

    def _screen(self, seen: RawValue | ProbeFault) -> Verdict:
        others = {**self._elsewhere(), **self.last_values()}
        others.pop(seen.probe_id, None)
        state, verdict = screen(self._states[seen.probe_id], seen, others, self._limits)
        self._states[seen.probe_id] = state
        return verdict

    def _gone(self, mentioned: frozenset[ProbeId], now: datetime) -> list[ProbeFault]:
        faults = []
        for probe in sorted(self._states.keys() - mentioned):
            since = self._states[probe].gone_since or now
            if (now - since).total_seconds() < self._limits.gone_for_s:
                faults.append(ProbeFault(probe, now, FaultKind.VANISHED, "not on the bus any more"))
        return faults
