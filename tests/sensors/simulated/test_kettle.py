"""A kettle on brewing day."""

from datetime import timedelta
from math import exp

import pytest

from sensors.simulated.kettle import Kettle, mash_c
from sensors.simulated.kettle_scene import Chill, Heat, KettleScene, KettleStep, MashIn, Stand, TopUp
from sensors.simulated.moment import Moment
from sensors.simulated.reading import load_scenario
from tests.sensors.simulated.twins import SCENARIOS, START, moments

WATER_J_PER_K = 10.0 * 0.998207 * 4190.0


def pot(
    *steps: KettleStep, begins_c: float = 20.0, loss_w_per_k: float = 4.0, gravity: float = 1.0
) -> Kettle:
    scene = KettleScene(
        "Ten litres",
        START,
        10.0,
        begins_c,
        steps,
        gravity=gravity,
        loss_w_per_k=loss_w_per_k,
        probe_lag_s=0.0,
    )
    return Kettle(scene, seed=1)


def after(kettle: Kettle, minutes: float) -> Moment:
    return kettle.at(START + timedelta(minutes=minutes))


def test_a_mash_has_the_temperature_that_its_parts_give() -> None:
    # Pauls & Whites 1984/85, as quoted: malt 27 C, liquor 69 C, 2.68 hL a 100 kg, 2 % moisture: 65.96 C.
    assert mash_c(100.0, 27.0, 268.0, 69.0) == pytest.approx(65.96, abs=0.01)


def test_a_mash_is_warmed_by_the_water_that_plain_arithmetic_asks_for() -> None:
    # 1 kg of malt and 3 kg of water from 62 to 66 C take 0.469 kg at 95 C (computed, with 0.40 for malt).
    scene = KettleScene(
        "Three litres", START, 3.0 / 0.998207, 62.0,
        (MashIn(1.0, malt_c=62.0, slaking_c=0.0), TopUp(0.5, 95.0)), loss_w_per_k=0.0,
    )  # fmt: skip

    rise_per_kg = (Kettle(scene, 1).at(START).beer_c - 62.0) / (0.5 * 0.998207)

    mixed = 0.469 * 29.0 / 4.0
    assert mixed == pytest.approx(3.4, rel=0.01)
    assert rise_per_kg == pytest.approx((95.0 - 62.0) / (3.4 + 0.499), rel=0.01)


@pytest.mark.parametrize("loss_w_per_k", [0.5, 4.0, 12.0])
def test_a_kettle_left_to_itself_cools_by_newtons_law(loss_w_per_k: float) -> None:
    kettle = pot(Stand(60.0), begins_c=67.0, loss_w_per_k=loss_w_per_k)

    for minutes in (1, 10, 60, 300):
        expected = 20.0 + 47.0 * exp(-minutes * 60.0 * loss_w_per_k / WATER_J_PER_K)

        assert after(kettle, minutes).beer_c == pytest.approx(expected, abs=0.01)


def test_wort_of_twelve_plato_holds_3_95_kj_per_kg_and_degree() -> None:
    # Heat capacity of wort about 3.95 kJ/(kg K) +/-3 %; 12 P is 1.04839 (ICUMSA sucrose density, computed).
    kettle = pot(Stand(300.0), begins_c=67.0, gravity=1.04839)
    j_per_k = 3950.0 * 10.0 * 1.04839 * 0.998207

    expected = 20.0 + 47.0 * exp(-300.0 * 60.0 * 4.0 / j_per_k)

    assert after(kettle, 300).beer_c == pytest.approx(expected, abs=0.05)


def test_water_that_goes_in_thins_the_wort() -> None:
    kettle = pot(Stand(1.0), TopUp(5.0, 20.0), gravity=1.045)

    assert after(kettle, 0).gravity == pytest.approx(1.045, abs=1e-5)
    assert after(kettle, 5).gravity == pytest.approx(1.030, abs=5e-4)


def test_a_probe_lags_a_steady_rise_by_its_time_constant() -> None:
    scene = KettleScene(
        "Ten litres", START, 10.0, 20.0, (Heat(2000.0, 60.0),), loss_w_per_k=0.0, probe_lag_s=30.0
    )

    moment = after(Kettle(scene, 1), 10)

    assert moment.pad_w == 2000.0
    assert moment.beer_c - moment.probe_c == pytest.approx(2000.0 / WATER_J_PER_K * 30.0, rel=0.01)


def test_it_boils_at_its_boiling_point_and_steams_off_what_the_heat_pays_for() -> None:
    kettle = pot(Heat(2000.0, 150.0), begins_c=90.0, gravity=1.04)

    boiling = [after(kettle, minutes) for minutes in (40, 60, 80, 100)]

    assert [m.beer_c for m in boiling] == [99.8] * 4
    steam_kg = 3600.0 * (2000.0 - 4.0 * 79.8) / 2257e3
    plato = [-616.868 + 1111.14 * s - 630.272 * s**2 + 135.997 * s**3 for s in (m.gravity for m in boiling)]
    extract_kg = 10.0 * 1.04 * 0.998207 * 9.99 / 100
    assert extract_kg * 100 / plato[0] - extract_kg * 100 / plato[-1] == pytest.approx(steam_kg, rel=0.01)


def test_a_boiling_probe_flickers_around_the_plateau() -> None:
    kettle = pot(Heat(2000.0, 150.0), begins_c=95.0)

    shown = [after(kettle, 40 + seconds / 6).probe_c for seconds in range(100)]

    assert 0.1 < max(shown) - min(shown) < 1.0
    assert sum(shown) / 100 == pytest.approx(99.8, abs=0.05)


def test_heating_ends_at_the_temperature_asked_for() -> None:
    kettle = pot(Heat(2000.0, 60.0, until_c=72.0), begins_c=60.0)

    warmest = max(m.beer_c for m in moments(kettle, 0, 2, every_min=0.1))

    assert warmest == pytest.approx(72.0, abs=0.3)


def test_what_a_kettle_loses_its_sink_gains_but_for_what_goes_to_the_kitchen() -> None:
    kettle = pot(Chill(60.0, bath_litres=10.0 * 0.998207, water_c=12.0), begins_c=80.0)

    seen = moments(kettle, 0, 0.99, every_min=0.1)

    to_kitchen_j = sum(6.0 * (m.bath_c - 20.0) * 6.0 for m in seen[:-1])
    heat_j = [WATER_J_PER_K * (m.beer_c + m.bath_c) for m in (seen[0], seen[-1])]
    assert heat_j[0] - heat_j[1] == pytest.approx(to_kitchen_j, rel=0.02)
    assert 0.0 < seen[-1].beer_c - seen[-1].bath_c < 2.0


def test_fresh_water_in_the_sink_chills_further() -> None:
    kettle = pot(Chill(60.0, bath_litres=10.0, water_c=12.0, change_every_min=15.0), begins_c=80.0)

    before, changed, at_last = (after(kettle, minutes) for minutes in (14.9, 15.0, 59.9))

    assert before.bath_c > 30.0
    assert changed.bath_c == pytest.approx(12.0)
    assert at_last.beer_c < 18.0


def test_the_shipped_brewing_day_holds_boils_steeps_and_chills() -> None:
    scene = load_scenario(SCENARIOS / "brewing-day.json")
    assert isinstance(scene, KettleScene)
    day = moments(Kettle(scene, 1), 0, 3.5, every_min=0.5)

    mash = [m.beer_c for m in day if m.at < scene.starts + timedelta(minutes=60)]

    assert all(65.0 < temp < 70.0 for temp in mash)
    assert mash[-1] < mash[0] - 1.0
    assert max(m.beer_c for m in day) == 99.4
    assert sum(m.beer_c == 99.4 for m in day) * 0.5 > 55
    assert min(m.beer_c for m in day) < 15.0
    assert day[-1].gravity > 1.040
