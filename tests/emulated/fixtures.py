"""A fixture that mounts emulated 1-wire trees and takes them away after the test."""

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from tests.emulated.tree import EmulatedTree

EmulatedTreeMaker = Callable[..., EmulatedTree]


def why_not() -> str:
    """Why no tree can be mounted here, or nothing."""
    if not Path("/dev/fuse").exists():
        return "there is no /dev/fuse: load the fuse module"
    if not any(map(shutil.which, ("fusermount3", "fusermount"))):
        return "fusermount is missing: apt install fuse3 libfuse2"
    return ""


@pytest.fixture
def emulated_tree() -> Iterator[EmulatedTreeMaker]:
    """A maker: ``tree = emulated_tree({"28-00000a1b2c3d": 20.0}, speed=50)``, mounted when it returns.

    Without FUSE the test is skipped, except under CI, where it fails.
    """
    if reason := why_not():
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    with ExitStack() as trees:

        def make(*args: object, **options: object) -> EmulatedTree:
            return trees.enter_context(EmulatedTree(*args, **options))  # type: ignore[arg-type]

        yield make
