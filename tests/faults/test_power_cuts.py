"""Power cuts in the middle of writing: what was confirmed or sent is there, and the record is whole.

A kill alone leaves the kernel to bring every write home; a power cut does not. Here the disk loses, shortens
or scatters whatever no sync covered.
"""

import random
from pathlib import Path

import pytest

from tests.faults.cuts import losses
from tests.faults.disk import Fate, contents, lay
from tests.faults.storm import judge
from tests.faults.weather import calm_down, lose_power, weather
from tests.running import eventually

pytestmark = pytest.mark.fault

CUTS = 12
VESSELS, CHANNELS = 4, 3


def test_a_dozen_power_cuts_lose_nothing_that_was_confirmed(tmp_path: Path) -> None:
    chance = random.Random(3)
    unsynced = 0
    with weather(tmp_path, VESSELS, CHANNELS, seed=4) as now:
        for _ in range(CUTS):
            lose_power(now, chance)
            unsynced += now.disk.cut_the_power(chance) > 0
            now.running.start()
        so_far = len(now.pusher.confirmed)
        eventually(lambda: len(now.pusher.confirmed) > so_far, 20, "a push after the last cut")
        calm_down(now)
        now.running.stop()
        verdict = judge(now.running.folder, now.storm.asked, now.receiver)

    assert verdict.wrong == []
    assert now.pusher.judge(now.running.folder) == []
    assert verdict.confirmed > CUTS
    assert verdict.messages > CHANNELS
    assert "set aside" not in now.running.log
    # cuts that met nothing in flight would show nothing
    assert unsynced > CUTS / 3


def test_the_same_cuts_on_a_disk_whose_syncs_mean_nothing_lose_much(tmp_path: Path) -> None:
    with weather(tmp_path, VESSELS, CHANNELS, seed=5) as now:
        eventually(lambda: len(now.storm.asked.confirmed) > 10, 30, "some handlings")
        calm_down(now)
        now.running.stop()
    listed = now.disk.list()
    chance = random.Random(6)
    places = sorted(chance.sample(range(len(listed.acts) // 2, len(listed.acts)), 8))
    found = {}
    for syncs in (True, False):
        for number, place in enumerate(places):
            left, _ = listed.left(place, chance, list(Fate)[number % 3], syncs)
            lay(left, now.disk.folder, tmp_path / "cut")
            known = now.notary.before(listed.acts[place - 1].end)
            found[syncs, place] = losses(tmp_path / "cut", known, now.storm, now.pusher)

    assert [found[True, place] for place in places] == [[]] * len(places)
    assert all(found[False, place] for place in places)


def test_the_list_misses_no_write(tmp_path: Path) -> None:
    with weather(tmp_path, VESSELS, CHANNELS, seed=7) as now:
        eventually(lambda: len(now.storm.asked.confirmed) > 3, 30, "some handlings")
        calm_down(now)
        now.running.stop()

    assert now.disk.list().everything() == contents(now.disk.folder)
