"""A visitor of the pages over a fake house."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from service.api.app import create_app
from tests.rig import Rig, rig_in
from tests.web.fake_house import FakeHouse
from tests.web.fake_program import program
from tests.web.markup import Element, read
from tests.web.visitor import Visitor
from web.served import pages_for

Visit = Callable[[FakeHouse], Visitor]


@pytest.fixture
def visit() -> Visit:
    """Opens a visitor on a house."""
    return lambda house: Visitor(program(house))


@pytest.fixture
def home(visit: Visit) -> Callable[[FakeHouse], Element]:
    """The first page of a house, read."""

    def page(house: FakeHouse) -> Element:
        answer = visit(house).get("/")
        assert answer.status_code == 200
        return read(answer.text)

    return page


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    """The program's parts with a clock moved by hand."""
    with rig_in(tmp_path) as made:
        yield made


@pytest.fixture
def visitor(rig: Rig) -> Visitor:
    """A visitor of the pages on the real desk."""
    return Visitor(create_app(rig.desk, [pages_for(rig.desk)]))
