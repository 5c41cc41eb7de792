"""Remedies, the vessel's history, warmth, and until when a batch may be left."""

import math
from datetime import UTC, datetime, timedelta

import pytest

from service.thermal import forecast as f
from service.thermal import vessel
from service.thermal.remedies import MOST_SHOCK_C_PER_DAY, Advice, blow_off, remedies
from service.thermal.scores import Said, score
from service.thermal.unattended import Call, leave
from service.thermal.warmth import warm_days, worked_at_c

NOW = datetime(2026, 5, 4, 9, tzinfo=UTC)
C = f.Coefficients(8.0, 0.1, 0.0, 0.1, (0.3,) * 30, 0.1)


def going_to(last: float, hours: int = 24) -> list[f.Point]:
    return [f.Point(NOW + timedelta(hours=h), 20 + (last - 20) * h / hours, 0, 40) for h in range(hours + 1)]


def by_kind(advice: list[Advice]) -> dict[str, Advice]:
    return {a.kind: a for a in advice}


def test_no_remedy_is_offered_inside_the_band() -> None:
    assert remedies(going_to(21.0), C, 5.0, 1.048, 18.0, 22.0) == []
    assert remedies([], C, 5.0, 1.048, 18.0, 22.0) == []


def test_warm_beer_gets_cooler_surroundings_cloth_ice_and_fridge() -> None:
    found = by_kind(remedies(going_to(23.0), C, 20.0, 1.048, 18.0, 22.0))

    needed = found["surroundings_c"].value
    assert needed == pytest.approx(1.0 / (1 - math.exp(-24 / 8.0)), abs=0.06)
    # 0.48 kg from -18 C to 20 C takes 218 kJ, 0.6 of it from 20 l of 1.048 (86.1 kJ/K): 1.5 C.
    assert found["frozen-bottle"].value == pytest.approx(-1.5, abs=0.1)
    assert "Look again" in found["frozen-bottle"].sentence
    assert found["fridge_h"].value is not None
    assert found["wet-cloth"].value is not None
    assert found["wet-cloth"].value < 0


def test_no_shock_is_ever_advised() -> None:
    small = by_kind(remedies(going_to(27.0), C, 5.0, 1.048, 18.0, 22.0))

    assert small["frozen-bottle"].value is None
    hours = small["fridge_h"].value
    assert hours is not None
    cooled = (27 - 5) * (1 - math.exp(-hours / (C.tau_h * 0.8)))
    assert cooled <= MOST_SHOCK_C_PER_DAY + 0.05


def test_cold_beer_gets_warmth_and_lagging() -> None:
    found = by_kind(remedies(going_to(16.0), C, 5.0, 1.048, 18.0, 22.0))

    assert set(found) == {"surroundings_c", "off-the-floor", "lagging"}
    assert found["lagging"].value is not None
    assert 0 < found["lagging"].value < 100


def test_a_blow_off_tube_is_advised_before_the_storm() -> None:
    rising = f.Coefficients(8.0, 0.1, 0.0, 0.1, tuple(0.05 + 0.012 * k for k in range(30)), 0.1)
    calm = f.Coefficients(8.0, 0.1, 0.0, 0.1, (0.02,) * 30, 0.1)

    assert blow_off(rising, going_to(21.0)) is not None
    assert blow_off(calm, going_to(21.0)) is None
    assert blow_off(f.Coefficients(8, 0.1, 0, 0.1, (), 0), []) is None


def test_a_vessel_is_learned_across_batches_and_volumes() -> None:
    lessons = [vessel.Lesson(6.5, 0.1, 5.0), vessel.Lesson(6.5 * 2 ** (1 / 3), 0.1, 10.0)]

    prior = vessel.learned(lessons, 5.0)

    assert prior is not None
    assert prior.tau_h == pytest.approx(6.5)
    assert prior.batches == 2
    assert prior.spread_ln < 0.2
    assert vessel.learned([], 5.0) is None


def test_a_changed_vessel_is_noticed() -> None:
    prior = vessel.learned([vessel.Lesson(7.0, 0.08, 5.0)] * 3, 5.0)
    assert prior is not None

    assert vessel.changed(prior, 7.4, 0.1) is None
    assert "wrapped" in (vessel.changed(prior, 17.0, 0.1) or "")
    assert "faster" in (vessel.changed(prior, 3.5, 0.1) or "")


def test_the_working_temperature_counts_the_hours_that_mattered() -> None:
    temps = [20.0] * 10 + [24.0] * 10

    assert worked_at_c(temps, [0.0] * 10 + [k / 10 for k in range(1, 11)]) == pytest.approx(24.0)
    assert worked_at_c(temps, [0.0] * 20) is None
    assert worked_at_c([None, None], [0.0, 1.0]) is None


def test_bottles_gather_warmth() -> None:
    assert warm_days([20.0] * 48) == pytest.approx(2.0)
    assert warm_days([30.0] * 24) == pytest.approx(2.2)
    assert warm_days([1.0, None] * 24) == 0.0


def test_the_earliest_call_says_until_when() -> None:
    soon, late = Call(NOW + timedelta(hours=5), "Dry hops are due."), Call(NOW + timedelta(days=2), "Warm.")

    found = leave(NOW, [late, soon], NOW + timedelta(days=3))

    assert (found.until, found.because) == (soon.at, soon.because)
    assert found.next == (late,)
    assert leave(NOW, [], NOW + timedelta(days=3)).until is None


def test_blindness_ends_the_leave_before_a_later_call() -> None:
    late = Call(NOW + timedelta(days=5), "Bottling.")

    found = leave(NOW, [late], NOW + timedelta(days=2), "The forecast reaches no farther.")

    assert found.until == NOW + timedelta(days=2)
    assert found.next == (late,)


def test_what_is_overdue_is_now() -> None:
    past = Call(NOW - timedelta(hours=5), "A reading is due.")

    assert leave(NOW, [past], NOW + timedelta(days=1)).until == NOW


def test_a_finished_batch_is_scored_against_what_happened() -> None:
    said = [Said(20.0, 19.5, 20.5, 20.3, 19.0), Said(21.0, 20.5, 21.5, 22.0, 20.0)]

    found = score(said)

    assert found is not None
    assert found.n == 2
    assert found.rms == pytest.approx(math.sqrt((0.09 + 1.0) / 2))
    assert found.bias == pytest.approx(-0.65)
    assert found.holds == 0.5
    assert found.same_rms == pytest.approx(math.sqrt((1.69 + 4.0) / 2))
    assert "50 % of the 2" in found.sentence("C")
    assert score([]) is None


def test_a_score_without_persistence_leaves_it_out() -> None:
    found = score([Said(1.010, 1.008, 1.012, 1.011)])

    assert found is not None
    assert found.same_rms is None
    assert "staying" not in found.sentence("points")
