"""SIGKILL at random in a storm of alarms: nothing committed is lost, and nothing is invented."""

from pathlib import Path

import pytest

from tests.faults.storm import Storm, judge, kill_again_and_again, set_up
from tests.notify.receivers import Answer, http_receiver
from tests.running import Running

pytestmark = pytest.mark.fault

KILLS = 20
VESSELS, CHANNELS = 8, 6


def test_twenty_kills_lose_no_transition_and_no_message(tmp_path: Path) -> None:
    with http_receiver(Answer(200, after_s=0.03)) as receiver:
        running = Running(tmp_path / "data", log="warning")
        with running:
            set_up(running, receiver, VESSELS, CHANNELS)
            storm = Storm(running, VESSELS, seed=5)
            storm.start()
            kill_again_and_again(running, KILLS, seed=7)
            storm.over.set()
            storm.join(10)
        verdict = judge(running.folder, storm.asked, receiver)

    assert verdict.wrong == []
    assert verdict.confirmed > 20
    assert verdict.messages > CHANNELS
    # one message may be in flight on each channel when the program dies, and is sent once more
    assert sum(verdict.repeats.values()) <= KILLS * CHANNELS
