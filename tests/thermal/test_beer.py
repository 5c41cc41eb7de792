"""Heat and gravity against published figures."""

import pytest

from service.thermal import beer


@pytest.mark.parametrize(
    "degrees, sg",
    # Bubnik, Kadlec, Urban, Bruhns, Sugar Technologists Manual (1995), by computation; 0.011 P of tolerance.
    [(5, 1.01966), (10, 1.04003), (12, 1.04839), (15, 1.06114), (20, 1.08302)],
)
def test_extract_follows_the_sucrose_tables(degrees: float, sg: float) -> None:
    assert beer.plato(sg) == pytest.approx(degrees, abs=0.02)
    assert beer.specific_gravity(beer.plato(sg)) == pytest.approx(sg, abs=1e-9)


def test_five_litres_give_the_heat_of_their_extract() -> None:
    # 5 l from 1.045 to 1.010: 5.216 kg wort, 0.377 kg extract, 221 kJ, 10.7 K (hand calculation from
    # Balling's relation and 586 kJ/kg; the rise there is without the vessel's share).
    extract = 5.216 * beer.fermented_extract(1.045, 1.010)

    assert extract == pytest.approx(0.377, abs=0.002)
    assert extract * beer.HEAT_KJ_PER_KG == pytest.approx(221, abs=1.5)
    assert beer.adiabatic_rise_k(1.045, 1.010) * beer.VESSEL_SHARE == pytest.approx(10.7, abs=0.1)


def test_gravity_comes_back_from_extract() -> None:
    for fg in (1.004, 1.010, 1.020):
        assert beer.gravity_after(1.050, beer.fermented_extract(1.050, fg)) == pytest.approx(fg, abs=1e-6)


def test_gravity_is_all_but_linear_in_extract() -> None:
    half = beer.gravity_after(1.060, beer.fermented_extract(1.060, 1.014) / 2)
    share = (1.060 - half) / 0.046

    assert abs(share - 0.5) < 0.01
    assert beer.bow(1.060, 1.014) == pytest.approx(4 * (share - 0.5), abs=1e-9)


def test_a_bucket_of_five_litres_has_a_time_constant_of_some_hours() -> None:
    # 5 to 11 h from a surface of 0.164 m2 and usual coefficients (estimate).
    assert 5 < beer.usual_time_constant_h(5.0) < 11
    assert beer.usual_time_constant_h(20.0) > beer.usual_time_constant_h(5.0)


def test_yeast_slows_with_the_cold_and_stops_near_freezing() -> None:
    assert beer.usual_pace(20.0) == pytest.approx(1.0)
    assert beer.usual_pace(10.0) == pytest.approx(1 / 2.2)
    assert beer.usual_pace(2.0) == 0.0
    assert 0 < beer.usual_pace(4.0) < beer.usual_pace(6.0)
