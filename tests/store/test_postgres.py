from pathlib import Path

import pytest

from bot.store.postgres import PostgresStore
from tests.store.contract import StoreContract
from tests.store.server import Rooms


class TestPostgresStore(StoreContract):
    @pytest.fixture(autouse=True)
    def _on_the_server(self, server_rooms: Rooms) -> None:
        self.rooms = server_rooms

    def make(self, folder: Path) -> PostgresStore:
        return PostgresStore(self.rooms.of(folder), size=2)
