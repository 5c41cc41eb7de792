"""Fixtures that every room's tests use."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.rig import Rig, rig_in


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    """The program's parts in one process, with one probe at 20 C on the bus."""
    with rig_in(tmp_path) as made:
        yield made
