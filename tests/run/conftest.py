from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from bot.store.sqlite import SqliteStore
from tests.run.scenes import a_store


@pytest.fixture
async def store(tmp_path: Path) -> AsyncIterator[SqliteStore]:
    async with a_store(tmp_path) as store:
        yield store
