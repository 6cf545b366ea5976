from collections.abc import Iterator

import pytest

from tests.store.server import Rooms, running_server

pytest.register_assert_rewrite("tests.store.contract", "tests.talk.world")


@pytest.fixture(scope="session")
def server_rooms() -> Iterator[Rooms]:
    """A PostgreSQL server, started for whoever asks first."""
    with running_server() as server:
        yield Rooms(server.dsn)
