"""What the tests of delivery share."""

import pytest

from tests.notify.receivers import Certificate, self_made_certificate


@pytest.fixture(scope="session")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Certificate:
    return self_made_certificate(tmp_path_factory.mktemp("certificate"))
