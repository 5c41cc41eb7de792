"""Storage that fills up, turns read-only or goes away under the running program.

What was confirmed stays; what cannot be kept is refused in words; the watch goes round all the same; and when
the storage is well again, writing goes on.
"""

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.faults.pushing import Pusher
from tests.running import PROGRAM, Running, eventually

pytestmark = [
    pytest.mark.fault,
    pytest.mark.skipif(os.geteuid() != 0, reason="only root can mount"),
]

Mounter = Callable[..., Path]


@pytest.fixture
def mounted(tmp_path: Path) -> Iterator[Mounter]:
    """A maker: mounts something on a folder of its own, and takes it away afterwards."""
    done: list[Path] = []

    def mount(*words: str) -> Path:
        folder = tmp_path / f"disk{len(done)}"
        folder.mkdir()
        made = subprocess.run(["mount", *words, str(folder)], capture_output=True, text=True, check=False)
        if made.returncode:
            why = f"mount {' '.join(words)}: {made.stderr.strip()}"
            assert "CI" not in os.environ, why
            pytest.skip(why)
        done.append(folder)
        return folder

    yield mount
    for folder in reversed(done):
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


def fill(folder: Path) -> Path:
    """A file that takes all the room there is."""
    filler = folder / "filler"
    with filler.open("wb", buffering=0) as out:
        for size in (65536, 4096, 1):
            try:
                while True:
                    out.write(b"\0" * size)
            except OSError:
                continue
    return filler


def push_until_refused(pusher: Pusher, tries: int = 1000) -> str:
    """Push until the program refuses; the refusal's words."""
    before = len(pusher.refusals)
    for _ in range(tries):
        pusher.push()
        if len(pusher.refusals) > before:
            refusal = pusher.refusals[-1]
            assert refusal.status_code == 503, refusal.text
            assert refusal.headers["content-type"] == "application/problem+json"
            return str(refusal.json()["detail"])
    raise AssertionError("nothing was refused")


def rounds(running: Running) -> int:
    """How often the watch came round."""
    return int(running.client.get("/readyz").json()["rounds"])


def still_goes_round(running: Running) -> None:
    """The watch goes round, and pages are served."""
    seen = rounds(running)
    eventually(lambda: rounds(running) > seen, 10, "another round")
    assert running.client.get("/").status_code == 200


def test_a_full_disk_refuses_in_words_and_loses_nothing(mounted: Mounter) -> None:
    disk = mounted("-t", "tmpfs", "-o", "size=6m", "tmpfs")
    with Running(disk / "data", log="warning") as running:
        pusher = Pusher(running)
        assert pusher.push()
        filler = fill(disk)

        refused = push_until_refused(pusher)
        still_goes_round(running)
        filler.unlink()
        eventually(pusher.push, 10, "a push with room again")
        running.stop()

    assert "disk is full" in refused
    assert "nothing was changed" in refused
    assert pusher.judge(running.folder) == []


def test_a_start_on_a_full_disk_is_refused_in_words_or_works_and_loses_nothing(mounted: Mounter) -> None:
    disk = mounted("-t", "tmpfs", "-o", "size=6m", "tmpfs")
    running = Running(disk / "data", log="warning")
    with running:
        pusher = Pusher(running)
        assert pusher.push()
        running.kill()
        filler = fill(disk)
        said = start_that_may_fail(running)
        filler.unlink()
        running.start()
        assert pusher.push()
        running.stop()

    assert "Traceback" not in said
    assert pusher.judge(running.folder) == []


def start_that_may_fail(running: Running) -> str:
    """Start the program, and end it once it is ready or has given up; what it logged."""
    before = len(running.log)
    try:
        running.start()
    except AssertionError:
        assert "gylewatch: " in running.log[before:]
    running.stop()
    return running.log[before:]


def test_a_disk_that_turns_read_only_is_told_and_the_watch_goes_on(mounted: Mounter, tmp_path: Path) -> None:
    if shutil.which("mkfs.ext4") is None:
        assert "CI" not in os.environ, "mkfs.ext4 is missing: apt install e2fsprogs"
        pytest.skip("mkfs.ext4 is missing")
    image = tmp_path / "image"
    with image.open("wb") as out:
        out.truncate(24 * 1024 * 1024)
    subprocess.run(["mkfs.ext4", "-q", "-F", str(image)], check=True)
    disk = mounted("-o", "loop", str(image))
    with Running(disk / "data", log="warning") as running:
        pusher = Pusher(running)
        assert pusher.push()

        # as the kernel does by itself after an error of the disk
        subprocess.run(["mount", "-o", "remount,abort", str(disk)], check=True)
        refused = push_until_refused(pusher)
        still_goes_round(running)
        running.stop()

    assert "nothing was changed" in refused
    copy = tmp_path / "copy"
    shutil.copytree(disk / "data", copy)
    assert pusher.judge(copy) == []


def test_a_start_on_a_read_only_disk_is_refused_with_the_remedy(mounted: Mounter, tmp_path: Path) -> None:
    disk = mounted("-t", "tmpfs", "-o", "size=6m", "tmpfs")
    with Running(disk / "data", log="warning") as running:
        pusher = Pusher(running)
        assert pusher.push()
        running.stop()
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)

    done = subprocess.run(
        [str(PROGRAM), "watch"],
        env={**os.environ, "GYLEWATCH_DATA_DIR": str(disk / "data"), "GYLEWATCH_PORT": str(running.port)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )

    assert done.returncode == 1
    assert done.stderr.startswith("gylewatch: ")
    assert "Read-only" in done.stderr
    copy = tmp_path / "copy"
    shutil.copytree(disk / "data", copy)
    assert pusher.judge(copy) == []


def test_a_data_folder_that_vanishes_is_told_and_never_looks_well(tmp_path: Path) -> None:
    with Running(tmp_path / "data", log="warning") as running:
        pusher = Pusher(running)
        assert pusher.push()

        shutil.move(tmp_path / "data", tmp_path / "elsewhere")
        refused = push_until_refused(pusher)
        still_goes_round(running)
        ready = running.client.get("/readyz")
        running.stop()

    assert "is gone" in refused
    assert ready.status_code == 503
    assert "is gone" in ready.json()["missing"][0]
    assert not (tmp_path / "data" / "record.db").exists()
    assert pusher.judge(tmp_path / "elsewhere") == []
