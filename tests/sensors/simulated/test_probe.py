"""The simulated part against the DS18B20 datasheet (its temperature table and scratchpad) and CRC vectors."""

from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sensors.scratchpad import crc8
from sensors.simulated.probe import FollowingTip, register_of, scratchpad_of


@pytest.mark.parametrize(
    "temp_c, register",
    [
        (125.0, 0x07D0),
        (85.0, 0x0550),
        (25.0625, 0x0191),
        (10.125, 0x00A2),
        (0.5, 0x0008),
        (0.0, 0x0000),
        (-0.5, 0xFFF8),
        (-10.125, 0xFF5E),
        (-25.0625, 0xFE6F),
        (-55.0, 0xFC90),
    ],
)
def test_registers_are_those_of_the_datasheets_table(temp_c: float, register: int) -> None:
    assert register_of(temp_c) & 0xFFFF == register


def test_check_bytes_are_those_of_application_note_27_and_of_computed_scratchpads() -> None:
    assert crc8(bytes.fromhex("021CB801000000")) == 0xA2  # Maxim application note 27
    assert crc8(bytes.fromhex("50054B467FFF0C10")) == 0x1C  # computed
    assert scratchpad_of(register_of(23.0)) == bytes.fromhex("70014B467FFF1010E1")  # computed
    assert scratchpad_of(register_of(23.1875)) == bytes.fromhex("73014B467FFF0D1041")  # computed


@given(st.floats(-55.0, 125.0))
def test_a_step_is_a_sixteenth_of_a_degree(temp_c: float) -> None:
    assert abs(register_of(temp_c) / 16 - temp_c) <= 1 / 32


def test_a_tip_follows_a_jump_with_its_time_constant() -> None:
    tip = FollowingTip(20.0)

    after = [tip.ahead(10.0, 10.0, 30.0, lag_s=90.0) for _ in range(6)]

    assert after[2] == pytest.approx(10.0 + 10.0 * exp(-1.0))
    assert after[5] == pytest.approx(10.0 + 10.0 * exp(-2.0))


def test_a_tip_lags_a_steady_rise_by_its_time_constant() -> None:
    tip, lag_s = FollowingTip(0.0), 120.0

    for minute in range(60):
        tip.ahead(minute * 1.0, minute + 1.0, 60.0, lag_s)

    assert tip.temp_c == pytest.approx(60.0 - lag_s / 60.0, abs=1e-9)
