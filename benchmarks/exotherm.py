"""How well gravity is inferred from heat, on invented batches of two makers; every figure with its seeds.

Run: OPENBLAS_NUM_THREADS=1 python -m benchmarks.exotherm [--quick] [--seeds N]
     [--makers AB] [--only gravity,words,guards,special,forecast]
"""

import argparse
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from benchmarks.twins import maker_a, maker_b
from benchmarks.twins.batch import Floats, Scenario, Twin
from benchmarks.twins.given import PITCHED, given, hourly, hydrometer, limit_jar, weighing
from service.thermal.estimate import estimate
from service.thermal.forecast import coefficients, forecast
from service.thermal.inputs import GravityReading
from service.thermal.results import Estimate, Verdict

MAKERS = {"A": maker_a.make, "B": maker_b.make}
FIRST_SEED = {"A": 5000, "B": 6000}
QUIET_PT_PER_DAY = 1.0


@dataclass(frozen=True)
class Row:
    """One estimate against the truth (points of 0.001)."""

    twin: Twin
    hour: int
    answer: Estimate

    @property
    def error(self) -> float | None:
        if self.answer.gravity is None:
            return None
        return 1000 * (self.answer.gravity.value - self.twin.sg_at(self.hour))

    @property
    def holds(self) -> bool:
        assert self.answer.gravity is not None
        return self.answer.gravity.low <= self.twin.sg_at(self.hour) <= self.answer.gravity.high

    @property
    def coming_day_pt(self) -> float:
        return 1000 * (self.twin.sg_at(self.hour) - self.twin.sg_at(self.hour + 24))

    @property
    def dropped_pt(self) -> float:
        return 1000 * (self.twin.og - self.twin.sg_at(self.hour))


def figures(rows: Iterable[Row]) -> str:
    """rms, bias and share of intervals that hold."""
    known = [r for r in rows if r.error is not None]
    if not known:
        return "no gravity given"
    errors = np.array([r.error for r in known], dtype=np.float64)
    holds = np.mean([r.holds for r in known])
    rms, middle = np.sqrt(np.mean(errors**2)), np.median(np.abs(errors))
    return (
        f"rms {rms:4.1f}  median {middle:3.1f}  bias {errors.mean():+4.1f}  hold {100 * holds:3.0f} %  "
        f"n {len(known)}"
    )


def grouped(title: str, rows: list[Row], key: Callable[[Row], str]) -> None:
    """One line per group."""
    print(f"   by {title}:")
    for group in sorted({key(r) for r in rows}):
        print(f"      {group:12s} {figures(r for r in rows if key(r) == group)}")


def at(twin: Twin, hour: int, readings: tuple[GravityReading, ...] = (), **told: bool) -> Row:
    """The estimate at an hour."""
    return Row(twin, hour, estimate(given(twin, hour, readings, **told)))


def gravity_rows(twins: list[Twin]) -> list[Row]:
    """Gravity with no reading, with one, with weighings, with a limit jar."""
    every: list[Row] = []

    def show(title: str, rows: list[Row]) -> None:
        every.extend(rows)
        print(f"   {title:44s} {figures(rows)}")

    for hour in (48, 96, 168, 240):
        rows = [at(w, hour) for w in twins]
        show(f"no reading, {hour} h", rows)
    plain = list(every)
    for hour in (96, 168):
        show(f"hydrometer at 48 h, {hour} h", [at(w, hour, (hydrometer(w, 48),)) for w in twins])
    ended: dict[int, Row] = {}
    for r in plain:
        if r.answer.verdict is Verdict.ENDED and r.hour >= 96:
            ended.setdefault(r.twin.seed, r)
    show(
        "hydrometer once activity ended, a day later",
        [at(r.twin, min(r.hour + 24, 240), (hydrometer(r.twin, r.hour),)) for r in ended.values()],
    )
    three = (24, 48, 72)
    for hour in (96, 168):
        show(
            f"weighed on three days, {hour} h",
            [at(w, hour, tuple(weighing(w, h) for h in three)) for w in twins],
        )
    show("limit jar from 72 h, 168 h", [at(w, 168, (limit_jar(w, 72),)) for w in twins])
    print(f"   {'all intervals above':44s} {figures(every)}")
    grouped("mounting (no reading)", plain, lambda r: r.twin.mounting)
    grouped("room (no reading)", plain, lambda r: r.twin.room)
    grouped("volume (no reading)", plain, lambda r: "under 10 l" if r.twin.volume_l < 10 else "10 l and more")
    return plain


def word_rows(twins: list[Twin], make: Callable[..., Twin], seeds: range) -> None:
    """`ended`, `finished`, `stopped-early`, `not-started`: how often right."""
    rows = [at(w, hour) for w in twins for hour in (72, 96, 108, 120, 144, 192, 216)]
    ended = [r for r in rows if r.answer.verdict is Verdict.ENDED]
    right = [r for r in ended if r.coming_day_pt < 1.5 and r.dropped_pt > 3]
    quiet = [r for r in rows if r.coming_day_pt < QUIET_PT_PER_DAY and r.dropped_pt > 3]
    said = [r for r in quiet if r.answer.verdict is Verdict.ENDED]
    print(f"   ended: right {len(right)} of {len(ended)}; said in {len(said)} of {len(quiet)} quiet moments")
    for r in ended:
        if r not in right:
            print(
                f"      wrong: seed {r.twin.seed} {r.hour} h, {r.coming_day_pt:.1f} points in the coming day"
            )
    doubted = [r for r in rows if r.answer.verdict is Verdict.POSSIBLY_STOPPED]
    print(
        f"   healthy called possibly-stopped without a reading: {len({r.twin.seed for r in doubted})} of "
        f"{len(twins)} batches, {len(doubted)} of {len(rows)} moments"
    )
    wrong_none = [r for r in rows if r.answer.verdict is Verdict.NOT_STARTED and r.dropped_pt > 3]
    print(f"   not-started said of {len(wrong_none)} of {len(rows)} moments of working batches")
    finished = stopped = wrong = maybe = 0
    for batch, true_stop in [(w, False) for w in twins] + [
        (make(s, Scenario("stopped")), True) for s in seeds[: len(seeds) // 2]
    ]:
        row = at(batch, 216, (hydrometer(batch, 192),))
        attenuation = (batch.og - batch.final_sg) / (batch.og - 1)
        if row.answer.verdict is Verdict.FINISHED:
            finished += 1
            wrong += true_stop and attenuation < 0.6
        if row.answer.verdict is Verdict.STOPPED_EARLY:
            stopped += 1
            wrong += not true_stop
        maybe += row.answer.verdict is Verdict.POSSIBLY_STOPPED
    print(
        f"   after one reading at 192 h: finished {finished}, stopped-early {stopped}, "
        f"possibly-stopped {maybe}; wrong {wrong}"
    )
    never = [at(make(s, Scenario("never-pitched")), 72) for s in seeds]
    hits = sum(r.answer.verdict is Verdict.NOT_STARTED for r in never)
    print(f"   never pitched: not-started by 72 h in {hits} of {len(never)}")


def guard_rows(twins: list[Twin], make: Callable[..., Twin], seeds: range) -> None:
    """Disturbed when it is, and not when it is not."""

    def share(rows: list[Row]) -> str:
        return f"{sum(r.answer.verdict is Verdict.DISTURBED for r in rows)} of {len(rows)}"

    pads = [at(make(s, Scenario("pad")), 24) for s in seeds]
    idle = [r for r in pads if sum(on and 1 < h < 24 for h, on in r.twin.heater) < 2]
    print(f"   untold pad: disturbed within 24 h in {share(pads)}; {len(idle)} of the pads hardly came on")
    cooled = [make(s, Scenario("cooled")) for s in seeds]
    held = (Verdict.DISTURBED, Verdict.UNKNOWN)
    next_day = [at(w, round((w.cooled_h or 0) + 24)) for w in cooled]
    print(
        f"   untold cooling: disturbed (or held) a day later in "
        f"{sum(r.answer.verdict in held for r in next_day)} of {len(next_day)}"
    )
    false = [r for w in twins for r in (at(w, 48), at(w, 168)) if r.answer.verdict is Verdict.DISTURBED]
    swapped = []
    for twin in twins:
        known = given(twin, 48)
        swapped.append(Row(twin, 48, estimate(replace(known, beer=known.air, air=known.beer))))
    print(f"   liquid and surroundings probes exchanged: disturbed within 48 h in {share(swapped)}")
    print(f"   undisturbed called disturbed: {len(false)} of {2 * len(twins)}")
    for r in false:
        print(
            f"      {r.twin.maker} {r.twin.seed} {r.hour} h {r.twin.room} {r.twin.mounting}: "
            f"{r.answer.evidence[0]}"
        )
    boxes = [at(make(s, Scenario("box")), 96) for s in seeds]
    asked = sum(bool(r.answer.asks) for r in boxes)
    print(f"   untold insulated box: disturbed {share(boxes)}; asked about {asked}; {figures(boxes)}")


def special_rows(make: Callable[..., Twin], seeds: range) -> None:
    """Slow and cold, lager, moved, stopped, a heater with its record."""

    def made(scenario: str) -> list[Twin]:
        return [make(s, Scenario(scenario)) for s in seeds]

    slow = [at(w, hour) for w in made("cold-slow") for hour in (72, 120, 168, 240)]
    wrong = [r for r in slow if r.answer.verdict is Verdict.NOT_STARTED and r.dropped_pt > 3]
    print(f"   slow in a cold room: {figures(slow)}; not-started while it works {len(wrong)} of {len(slow)}")
    lager = [at(w, hour) for w in made("lager") for hour in (96, 168)]
    print(f"   cool slow lager, 96 and 168 h: {figures(lager)}")
    wrong = [r for r in lager if r.answer.verdict is Verdict.NOT_STARTED and r.dropped_pt > 3]
    print(f"   cool slow lager: not-started while it works {len(wrong)} of {len(lager)}")
    moved = [at(w, 168) for w in made("moved")]
    print(f"   told move, 168 h: {figures(moved)}")
    for hour in (96, 240):
        print(f"   stopped, no reading, {hour} h: {figures(at(w, hour) for w in made('stopped'))}")
    stopped = [at(w, 168) for w in made("stopped")]
    found = sum(r.answer.verdict in (Verdict.POSSIBLY_STOPPED, Verdict.STOPPED_EARLY) for r in stopped)
    print(f"   stopped, no reading, 168 h: {figures(stopped)}; possibly-stopped in {found} of {len(stopped)}")
    after = [at(w, 168, (hydrometer(w, 150),)) for w in (r.twin for r in stopped)]
    print(f"   stopped, one reading at 150 h, 168 h: {figures(after)}")
    pads = [at(w, hour, tell_heater=True) for w in made("pad") for hour in (96, 168)]
    print(f"   heater with its record, 96 and 168 h: {figures(pads)}")


def size(errors: Floats) -> float:
    """Root mean square."""
    return float(np.sqrt(np.mean(errors**2)))


def close(errors: Floats) -> float:
    """Percent within half a degree."""
    return float(100 * np.mean(np.abs(errors) < 0.5))


def forecast_rows(twins: list[Twin]) -> None:
    """The beer 12, 24 and 48 hours ahead, beside the forecast that it stays as it is."""
    errors: dict[int, list[tuple[float, float, bool]]] = {12: [], 24: [], 48: []}
    for twin in twins:
        for hour in (10, 24, 36, 60, 84, 120):
            answer = estimate(given(twin, hour))
            c = coefficients(twin.volume_l, twin.og, answer.thermal, None)
            beer, air = hourly(twin.beer_c, hour), hourly(twin.air_c, hour)
            points = forecast(PITCHED + timedelta(hours=hour), (12 + hour) % 24, beer, air, c)
            for ahead, found in errors.items():
                then = float(twin.beer_c[(hour + ahead) * 60 - 30 : (hour + ahead) * 60 + 30].mean())
                point = points[round(ahead / 0.25)]
                last = beer[-1] or 0.0
                found.append((point.temp_c - then, last - then, point.low90_c <= then <= point.high90_c))
    print("   forecast: rms, within 0.5 C, bias | the same as now: rms, within 0.5 C | interval holds")
    for ahead, found in errors.items():
        ours = np.array([e[0] for e in found])
        same = np.array([e[1] for e in found])
        holds = 100 * np.mean([e[2] for e in found])
        print(
            f"      {ahead:2d} h ahead  {size(ours):5.2f}  {close(ours):3.0f} %  {ours.mean():+5.2f} | "
            f"{size(same):5.2f}  {close(same):3.0f} %"
            f" | {holds:.0f} %  n {len(ours)}"
        )


def main() -> None:
    """Print the tables."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--quick", action="store_true", help="few seeds, under two minutes")
    asked.add_argument("--seeds", type=int, default=60)
    asked.add_argument("--only", default="gravity,words,guards,special,forecast")
    asked.add_argument("--makers", default="AB")
    options = asked.parse_args()
    n = 10 if options.quick else options.seeds
    for maker in options.makers:
        make = MAKERS[maker]
        seeds = range(FIRST_SEED[maker], FIRST_SEED[maker] + n)
        twins = [make(s) for s in seeds]
        print(f"maker {maker}, seeds {seeds.start} to {seeds.stop - 1}; gravity in points of 0.001")
        begun = time.process_time()
        if "gravity" in options.only:
            rows = gravity_rows(twins)
            print(f"   {len(rows)} estimates without a reading; {time.process_time() - begun:.0f} s of CPU")
        if "words" in options.only:
            word_rows(twins, make, seeds)
        fewer = seeds[: max(4, n // 3)]
        if "guards" in options.only:
            guard_rows(twins, make, fewer)
        if "special" in options.only:
            special_rows(make, fewer)
        if "forecast" in options.only:
            forecast_rows(twins[: max(8, n // 2)])
    if "gravity" in options.only:
        inputs = [given(maker_a.make(s), hour) for s in range(900, 904) for hour in (48, 96, 168)]
        begun = time.process_time()
        for one in inputs:
            estimate(one)
        print(f"a whole estimate: {(time.process_time() - begun) / len(inputs):.3f} s of processor time")


if __name__ == "__main__":
    main()
