"""What the tests of delivery share."""

import pytest

from service.notify.bounded import Patience
from tests.notify.receivers import Certificate, self_made_certificate


@pytest.fixture(scope="session")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Certificate:
    return self_made_certificate(tmp_path_factory.mktemp("certificate"))


@pytest.fixture
def patience() -> Patience:
    """Long enough for loopback on a busy machine, short enough for a test that waits it out."""
    return Patience(step_s=0.5, whole_s=1.5)
