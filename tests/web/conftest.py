"""A visitor of the pages over a fake house."""

from collections.abc import Callable

import pytest

from tests.web.fake_house import FakeHouse
from tests.web.fake_program import program
from tests.web.markup import Element, read
from tests.web.visitor import Visitor

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
