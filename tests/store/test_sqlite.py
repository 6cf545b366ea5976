from pathlib import Path

from bot.store.sqlite import SqliteStore
from tests.store.contract import StoreContract


class TestSqliteStore(StoreContract):
    def make(self, folder: Path) -> SqliteStore:
        return SqliteStore(folder / "brimful.db")
