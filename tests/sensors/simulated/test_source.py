"""The source that the rest of the program sees."""

from dataclasses import replace
from datetime import timedelta

import pytest

from sensors.bus import SweptSource
from sensors.sample import ProbeId
from sensors.scratchpad import crc8
from sensors.simulated.kitchen import Kitchen
from sensors.simulated.source import BUCKET, CUPBOARD, Quantity, SimulatedSource
from tests.sensors.simulated.twins import START, WATER, lively, still

LATER = START + timedelta(hours=20)


def source() -> SimulatedSource:
    return SimulatedSource(Kitchen(lively(), seed=1), seed=1)


def test_a_sweep_brings_every_probe_in_steps_of_a_sixteenth_with_a_scratchpad_that_checks() -> None:
    swept: SweptSource = source()

    sweep = swept.sweep(LATER)

    assert swept.name == "simulated"
    assert "extrapolated" in sweep.notes[0]
    assert sweep.present == {BUCKET, CUPBOARD}
    assert [value.probe_id for value in sweep.values] == [BUCKET, CUPBOARD]
    for value in sweep.values:
        assert value.at == LATER
        assert (value.raw_c * 16).is_integer()
        assert value.scratchpad is not None
        assert crc8(value.scratchpad) == 0
        assert int.from_bytes(value.scratchpad[:2], "little", signed=True) / 16 == value.raw_c


def test_each_probe_shows_the_temperature_it_was_given() -> None:
    kitchen = Kitchen(lively(), seed=1)
    probes = {ProbeId(f"sim-{quantity.name}"): quantity for quantity in Quantity}

    sweep = SimulatedSource(kitchen, probes, noise_c=0.0).sweep(LATER)

    truth = kitchen.at(LATER)
    expected = {probe: getattr(truth, quantity.value) for probe, quantity in probes.items()}
    assert {v.probe_id: v.raw_c for v in sweep.values} == pytest.approx(expected, abs=1 / 32)


def test_each_sweep_shows_its_own_time() -> None:
    kitchen = Kitchen(lively(), seed=1)
    swept = SimulatedSource(kitchen, noise_c=0.0)

    for hours in (1, 30, 3):
        at = START + timedelta(hours=hours)
        assert swept.sweep(at).values[0].raw_c == pytest.approx(kitchen.at(at).probe_c, abs=1 / 32)


def test_a_part_flickers_between_two_steps_when_the_truth_lies_between_them() -> None:
    between = still(replace(WATER, pitched_c=18.03), room_c=18.03)
    hour = (START, START + timedelta(hours=1), 30.0)

    flickering, quiet = (
        {value.raw_c for value in SimulatedSource(Kitchen(between, 1), noise_c=noise_c).history(*hour)}
        for noise_c in (0.015, 0.0)
    )

    assert flickering == {18.0, 18.0625}
    assert quiet == {18.0}


def test_the_same_sweep_asked_twice_is_the_same() -> None:
    assert source().sweep(LATER) == source().sweep(LATER)


def test_before_the_start_it_says_so_and_brings_nothing() -> None:
    sweep = source().sweep(START - timedelta(seconds=1))

    assert sweep.values == ()
    assert sweep.present == frozenset()
    assert "starts at" in sweep.trouble


def test_history_is_what_the_sweeps_would_have_brought() -> None:
    swept = source()

    past = list(swept.history(LATER, LATER + timedelta(minutes=3), every_s=60.0))

    minutes = [LATER + timedelta(minutes=n) for n in range(3)]
    assert past == [value for at in minutes for value in swept.sweep(at).values]


@pytest.mark.parametrize("early_s, first_s", [(0, 0), (60, 0), (90, 30), (1, 59)])
def test_history_begins_with_the_twin(early_s: int, first_s: int) -> None:
    begins = START - timedelta(seconds=early_s)

    first = next(source().history(begins, LATER, every_s=60.0))

    assert first.at == START + timedelta(seconds=first_s)


def test_history_refuses_an_interval_of_nothing() -> None:
    with pytest.raises(ValueError, match="above zero"):
        next(source().history(START, LATER, every_s=0.0))
