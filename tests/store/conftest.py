from collections.abc import Iterator

import pytest

from tests.store.server import running_server


@pytest.fixture(scope="session")
def server_dsn() -> Iterator[str]:
    with running_server() as dsn:
        yield dsn
