"""The program in a storm of alarms and minutes, on a disk that can lose its power."""

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from random import Random

from tests.faults.cuts import Notary
from tests.faults.disk import Disk
from tests.faults.pushing import Pusher
from tests.faults.storm import Storm, set_up
from tests.notify.receivers import Answer, HttpReceiver, http_receiver
from tests.running import Running, eventually


@dataclass(frozen=True, slots=True)
class Weather:
    """What is at work, and what keeps account of it."""

    running: Running
    disk: Disk
    storm: Storm
    pusher: Pusher
    receiver: HttpReceiver
    notary: Notary


@contextmanager
def weather(folder: Path, vessels: int, channels: int, seed: int) -> Iterator[Weather]:
    """Set up on a disk that keeps all; the storm begins on one that does not."""
    with http_receiver(Answer(200, after_s=0.02)) as receiver:
        disk = Disk(folder / "data", folder / "workshop")
        with Running(folder / "data", log="warning", environment=disk.environment) as running:
            set_up(running, receiver, vessels, channels)
            pusher = Pusher(running)
            storm = Storm(running, vessels, seed)
            running.stop()
            disk.settle()
            running.start()
            notary = Notary(disk, storm, pusher, receiver)
            for one in (storm, pusher, notary):
                one.start()
            yield Weather(running, disk, storm, pusher, receiver, notary)


def calm_down(one: Weather) -> None:
    """End the storm and the pushing."""
    one.storm.over.set()
    one.storm.join(10)
    one.pusher.stop()
    one.notary.stop()


def lose_power(now: Weather, chance: Random) -> None:
    """Let the power go at a moment of its own, or in the midst of something that is asked of the disk."""
    time.sleep(chance.uniform(0.05, 1.0))
    if chance.random() < 0.8:
        now.disk.goes_after(chance.randint(1, 30))
        eventually(lambda: not now.running.alive, 30, "the end in the midst of a write")
    now.running.kill()
