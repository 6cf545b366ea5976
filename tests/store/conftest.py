from collections.abc import Iterator

import pytest

from tests.store.server import Rooms, running_server


@pytest.fixture(scope="session")
def server_rooms() -> Iterator[Rooms]:
    with running_server() as dsn:
        yield Rooms(dsn)
