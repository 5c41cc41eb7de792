"""Gravity from two temperatures: the whole estimate of one batch at one moment. Worker process only."""

import math
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from service.thermal import beer
from service.thermal.arrays import Floats
from service.thermal.bins import Bins, binned
from service.thermal.case import Case, make_case
from service.thermal.columns import LOSS, OFFSET, START_H, thermal_columns
from service.thermal.heatcurve import warped
from service.thermal.hypotheses import NONE, STOPPED
from service.thermal.inputs import READING_ERROR_PT, EstimateInput, ReadBy, Trace
from service.thermal.mixture import Draws, drawn, quantile
from service.thermal.obstacles import guarded, held_from
from service.thermal.results import Estimate, FitFacts, Ranged, RangedTime, ThermalFacts, Verdict, Weights
from service.thermal.single import one_probe
from service.thermal.stories import Told, told
from service.thermal.words import STOPPED_FOR_SURE, Findings, Late, word

MOST_H = 21 * 24.0
"""Three weeks of temperatures tell all they can; later ones are not fitted."""

LEAST_H = 6.0
HORIZON_H = 60 * 24.0
GAP_H = 3.0
WARY = 10.0
"""Ends of an interval are looked at with an early stop so many times as likely as it is taken to be."""

WRAPPED, STRAINED_OFFSET, STRAINED = 1.9, 2.0, 5.0
"""In prior spreads: an unwrapped vessel hardly ever loses so little; a pad that never rests strains both."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """A fit with what it was made from; the benchmark looks inside, the service does not."""

    case: Case
    told: Told
    draws: Draws
    bins: Bins
    z: Floats
    now_h: float
    now_z: float
    pace: float


def _plain(given: EstimateInput, verdict: Verdict, *evidence: str, asks: tuple[str, ...] = ()) -> Estimate:
    return Estimate(at=given.at, verdict=verdict, evidence=evidence, asks=asks)


def _until(given: EstimateInput) -> EstimateInput:
    """Only what was known at the moment asked for."""
    now = given.at
    return replace(
        given,
        readings=tuple(r for r in given.readings if r.at <= now),
        sightings=tuple(s for s in given.sightings if s.at <= now),
        additions=tuple(a for a in given.additions if a.at <= now),
        moves=tuple(m for m in given.moves if m <= now),
        cooled=tuple(c for c in given.cooled if c.since <= now),
        heater=tuple(h for h in given.heater if h.at <= now),
    )


def fit(given: EstimateInput, bins: Bins, seed: int = 1) -> Fitted:
    """Fit one batch. Needs og, volume, pitching time and bins past the first hours."""
    assert given.volume_l is not None
    z = warped(bins.beer, bins.step_h)
    day = max(1, round(24 / bins.step_h))
    last = min(day, len(z) - 1)
    pace = max(0.02, float(z[-1] - z[-1 - last]) / (last * bins.step_h))
    columns = thermal_columns(bins, given, given.volume_l)
    case = make_case(bins, z, columns, given, pace)
    found = told(case)
    now_h = float(bins.hours[-1] + bins.step_h / 2)
    now_z = float(z[-1]) + pace * bins.step_h / 2
    hourly = np.arange(0.0, now_h, 1.0)
    past = (hourly, np.interp(hourly, np.concatenate([[0.0], bins.hours]), np.concatenate([[0.0], z])))
    draws = drawn(case, found, past, (now_h, now_z, pace), np.random.default_rng(seed))
    return Fitted(case, found, draws, bins, z, now_h, now_z, pace)


def estimate(given: EstimateInput, seed: int = 1) -> Estimate:
    """The answer at `given.at`. Bad or missing input gives `unknown` or `waiting` with the reason."""
    given = _until(given)
    if given.pitched_at is None or given.at < given.pitched_at:
        return _plain(given, Verdict.WAITING, "No yeast has been pitched yet.")
    if given.beer is None or not given.beer.minutes:
        return _plain(
            given, Verdict.UNKNOWN, "There are no temperatures of the beer.", asks=("a liquid probe",)
        )
    hours = min((given.at - given.pitched_at).total_seconds() / 3600, MOST_H)
    if given.air is None or not given.air.minutes:
        return one_probe(given, hours)
    bins = binned(_held(given.beer, given, hours), _held(given.air, given, hours), given.pitched_at, hours)
    if bins is None or hours < LEAST_H or bins.hours[bins.present][-1] < START_H + 3:
        return _plain(given, Verdict.WAITING, "Too soon after pitching, or too little data, to tell.")
    if given.og is None or not 1.01 <= given.og <= 1.2:
        answer = one_probe(given, hours)
        return replace(
            answer,
            evidence=("Without the original gravity there is no scale for the heat.", *answer.evidence),
            asks=("og",),
        )
    if given.volume_l is None or not 0.5 <= given.volume_l <= 500:
        answer = one_probe(given, hours)
        return replace(
            answer,
            evidence=("Without the volume the heat loss cannot be told.", *answer.evidence),
            asks=("volume_l",),
        )
    held = held_from(bins, given)
    if held is not None:
        bins = (
            binned(given.beer, given.air, given.pitched_at, held[0]) if held[0] > LEAST_H + START_H else None
        )
        if bins is None:
            return _plain(given, Verdict.DISTURBED, held[1])
    sign = guarded(bins, given, given.volume_l)
    if sign is not None:
        ask = "which probe is in the beer" if sign.kind == "exchanged" else f"what is near: {sign.kind}"
        return _plain(given, Verdict.DISTURBED, sign.sentence, asks=(ask,))
    fitted = fit(given, bins, seed)
    warmer, slower = strain(fitted)
    if warmer > STRAINED_OFFSET and warmer + slower > STRAINED and not given.heater:
        return _plain(
            given,
            Verdict.DISTURBED,
            "The beer is steadily warmer than this room and its own heat explain.",
            asks=("is something warm near the vessel, or is it wrapped",),
        )
    answer = answered(given, fitted)
    if slower > WRAPPED:
        answer = replace(
            answer,
            evidence=(*answer.evidence, "It loses heat unusually slowly: say whether the vessel is wrapped."),
            asks=("is the vessel wrapped",),
        )
    if held is None:
        return answer
    busy = answer.verdict in (Verdict.WORKING, Verdict.SLOWING, Verdict.WAITING)
    return replace(
        answer,
        verdict=Verdict.UNKNOWN if busy else answer.verdict,
        evidence=(held[1], "Gravity is held from before that.", *answer.evidence),
    )


def _held(trace: Trace, given: EstimateInput, hours: float) -> Trace:
    """The part of a trace from two days before pitching to the moment asked for."""
    assert given.pitched_at is not None
    first = (given.pitched_at - trace.start).total_seconds() / 60 - 48 * 60
    last = (given.pitched_at - trace.start).total_seconds() / 60 + hours * 60
    minutes = np.asarray(trace.minutes, dtype=np.float64)
    inside = (minutes >= first) & (minutes <= last)
    if bool(inside.all()):
        return trace
    temps = np.asarray(trace.temp_c, dtype=np.float64)[inside]
    return Trace(trace.start, tuple(minutes[inside].tolist()), tuple(temps.tolist()))


def strain(fitted: Fitted) -> tuple[float, float]:
    """How far the offset lies above, and the loss below, what was expected: in their prior spreads."""
    best = fitted.told.best
    mean, sd = fitted.case.prior(best.story)
    apart = (best.p - mean) / sd
    return float(apart[OFFSET]), -float(apart[LOSS])


def _range(values: Floats, weight: Floats, scale: float = 1.0, digits: int = 3) -> Ranged:
    low, middle, high = (quantile(values, weight, q) * scale for q in (0.05, 0.5, 0.95))
    return Ranged(round(middle, digits), round(low, digits), round(high, digits))


def _wary(draws: Draws) -> Floats:
    """The draws' weights for somebody to whom an early stop is a third as likely as not."""
    weight = draws.weight * np.where(draws.stopped, WARY, 1.0)
    wary: Floats = weight / weight.sum()
    return wary


def _safe_range(values: Floats, draws: Draws, digits: int = 3) -> Ranged:
    """The usual middle, between the ends that hold whether or not one expects an early stop.

    Heat alone often cannot tell a beer that stopped early from one that finished: then both lie inside.
    """
    usual, wary = _range(values, draws.weight, 1.0, digits), _range(values, _wary(draws), 1.0, digits)
    middle = usual.value
    if draws.weight[draws.stopped].sum() < STOPPED_FOR_SURE:
        # An early stop that is not said does not move the value either, only the ends.
        middle = _range(values, np.where(draws.stopped, 0.0, draws.weight), 1.0, digits).value
    return Ranged(middle, min(usual.low, wary.low), max(usual.high, wary.high))


def findings(given: EstimateInput, fitted: Fitted) -> Findings:
    """What the draws and readings say, as plain numbers."""
    assert given.pitched_at is not None
    case, draws = fitted.case, fitted.draws
    w = draws.weight
    late, seen_drop = [], 0.0
    for reading in sorted(given.readings, key=lambda r: r.at):
        hour = (reading.at - given.pitched_at).total_seconds() / 3600
        if reading.by is ReadBy.LIMIT_JAR or hour < 0:
            continue
        place = min(len(draws.progress[0]) - 1, round(hour))
        left = draws.full_pt - draws.potential_pt * draws.progress[:, place]
        dropped = case.og_pt - 1000 * (reading.sg - 1)
        seen_drop = max(seen_drop, dropped)
        error = READING_ERROR_PT[reading.by] if reading.error_pt is None else reading.error_pt
        late.append(Late(hour, dropped / case.og_pt, quantile(left, w, 0.5), error))
    gravity = draws.gravity_pt
    return Findings(
        hour=fitted.now_h,
        warped=fitted.now_z,
        begun=float(w[draws.dropped_pt > 3.0].sum()),
        upper_day_pt=quantile(draws.day_pt, w, 0.95),
        day_pt=quantile(draws.day_pt, w, 0.5),
        fastest_pt=quantile(draws.fastest_pt, w, 0.5),
        width_pt=quantile(gravity, w, 0.95) - quantile(gravity, w, 0.05),
        none=fitted.told.weight(NONE.name),
        idle=float(w[draws.idle].sum()),
        stopped=fitted.told.weight(STOPPED),
        drop_seen_pt=seen_drop,
        foam_seen=bool(len(case.direct.seen_z)),
        readings=tuple(late),
        og_pt=case.og_pt,
        hidden=sum(fitted.told.hidden),
        moved_h_ago=min(
            ((given.at - moved).total_seconds() / 3600 for moved in given.moves), default=math.inf
        ),
        low_attenuation=given.yeast.attenuation_low if given.yeast else None,
        jar_attenuation=(case.og_pt - float(case.direct.jar_points[-1])) / case.og_pt
        if len(case.direct.jar_points)
        else None,
    )


def _when(given: EstimateInput, fitted: Fitted, z: float) -> datetime | None:
    assert given.pitched_at is not None
    if z > fitted.now_z:
        ahead = (z - fitted.now_z) / fitted.pace
        return None if ahead > HORIZON_H else given.pitched_at + timedelta(hours=fitted.now_h + ahead)
    hour = float(np.interp(z, fitted.z, fitted.bins.hours))
    return given.pitched_at + timedelta(hours=hour)


def _wider(given: EstimateInput, bins: Bins) -> list[str]:
    """What makes the intervals wider than they need be, as sentences."""
    out = []
    if bins.longest_gap_h >= GAP_H:
        out.append(f"The temperatures have a gap of {bins.longest_gap_h:.0f} hours.")
    assert given.pitched_at is not None
    if given.at - given.pitched_at > timedelta(hours=MOST_H + 1):
        out.append("Temperatures later than three weeks after pitching are not looked at.")
    if given.mounting is None:
        out.append("How the liquid probe is mounted is not told, which makes this less sure.")
    return out


def answered(given: EstimateInput, fitted: Fitted) -> Estimate:
    """The draws made into an answer."""
    draws, case = fitted.draws, fitted.case
    w = draws.weight
    assert given.volume_l is not None
    assert given.og is not None
    said = word(findings(given, fitted))
    capacity = beer.heat_capacity_wh_per_k(given.volume_l, given.og)
    gravity = _safe_range(draws.gravity_pt, draws, 2)
    finish = [_when(given, fitted, quantile(draws.finish_z, w, q)) for q in (0.5, 0.05, 0.95)]
    ahead = np.average(draws.ahead_kh, axis=0, weights=w) * capacity
    around = (draws.ahead_kh * capacity - ahead) ** 2
    spread = np.sqrt(np.average(around, axis=0, weights=w))
    excess = float(np.average(draws.excess_k, weights=w))
    tau = _range(draws.tau_h, w, 1.0, 2)
    told_by = fitted.told
    return Estimate(
        at=given.at,
        verdict=said.verdict,
        gravity=Ranged(*(round(1 + v / 1000, 5) for v in (gravity.value, gravity.low, gravity.high))),
        share=_safe_range(draws.share, draws),
        rate_pt_per_day=_range(draws.day_pt, w, 1.0, 2),
        finish=RangedTime(*finish),
        heat_w=_range(draws.heat_kh, w, capacity),
        weights=Weights(
            round(1 - told_by.weight(STOPPED) - told_by.weight(NONE.name), 4),
            round(told_by.weight(STOPPED), 4),
            round(told_by.weight(NONE.name), 4),
        ),
        evidence=(*said.evidence, *_wider(given, fitted.bins)),
        fit=FitFacts(
            residual_c=round(told_by.sigma / 1.8, 4),
            tau_h=tau,
            minutes_used=int(case.present.sum() * fitted.bins.step_h * 60),
            readings_used=len(case.direct.z) + len(case.direct.jar_points),
        ),
        thermal=ThermalFacts(
            tau_h=tau.value,
            tau_spread_ln=float(np.sqrt(np.average(np.log(draws.tau_h / tau.value) ** 2, weights=w))),
            excess_c=excess,
            excess_spread_c=float(np.sqrt(np.average((draws.excess_k - excess) ** 2, weights=w))),
            share_seen=float(np.average(draws.seen, weights=w)),
            heat_w=tuple(round(v, 4) for v in ahead.tolist()),
            heat_spread=float(spread[0]) / max(0.02, float(ahead[0])),
            heat_sd_w=tuple(round(v, 4) for v in spread.tolist()),
            peak_w=quantile(draws.peak_kh, w, 0.5) * capacity,
            progress=tuple(round(v, 4) for v in np.average(draws.progress, axis=0, weights=w).tolist()),
        ),
    )
