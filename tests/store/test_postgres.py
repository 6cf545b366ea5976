from pathlib import Path

import pytest

from bot.store.postgres import PostgresStore
from tests.store.contract import StoreContract
from tests.store.server import schema_in


class TestPostgresStore(StoreContract):
    @pytest.fixture(autouse=True)
    def _on_the_server(self, server_dsn: str) -> None:
        self.dsn = server_dsn

    def make(self, folder: Path) -> PostgresStore:
        return PostgresStore(schema_in(self.dsn, folder), size=2)
