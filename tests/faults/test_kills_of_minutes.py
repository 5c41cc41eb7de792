"""SIGKILL at random while minutes are being written: what was confirmed is there, and the record is whole."""

import random
import time
from pathlib import Path

import pytest

from tests.faults.pushing import A_BATCH, Pusher
from tests.running import Running, eventually

pytestmark = pytest.mark.fault

KILLS = 20
LONGEST_S = 0.6


def test_twenty_kills_lose_no_confirmed_minute_and_invent_none(tmp_path: Path) -> None:
    chance = random.Random(11)
    with Running(tmp_path / "data", log="warning") as running:
        pusher = Pusher(running)
        pusher.start()
        cut_off = 0
        for _ in range(KILLS):
            time.sleep(chance.uniform(0.0, LONGEST_S))
            running.kill()
            cut_off += len(pusher.asked - pusher.confirmed) > 0
            running.start()
        so_far = len(pusher.confirmed)
        eventually(lambda: len(pusher.confirmed) > so_far, 20, "a push after the last start")
        pusher.stop()

    assert pusher.judge(running.folder) == []
    assert len(pusher.confirmed) > KILLS * A_BATCH
    assert cut_off > KILLS / 4
