"""The SQLite store: every call is one unit of work on one file."""

import asyncio
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from bot.store.sql.store import SqlStore
from bot.store.sqlite.database import Claim, File


class SqliteStore(SqlStore):
    """The store contract on one SQLite file, for one service; other programs may read and write beside it.

    `patience` is how many seconds a lock held by another program is waited for.
    """

    def __init__(self, path: Path | str, *, patience: float = 5.0) -> None:
        self._file = File(Path(path), patience)
        self._claim = Claim(Path(path))
        super().__init__(self._file)

    async def open(self) -> None:
        """Open and bring the schema up to date, safely when several do so at once."""
        await self._file.open()

    async def close(self) -> None:
        """Close; what was committed stays."""
        self._file.close()
        self._claim.give_back()

    async def reserve(self) -> None:
        """Have the file to oneself until it is closed; StoreBroken if a service runs on it."""
        self._claim.take()

    async def take_over(self) -> None:
        """Become the one service on this file, if it is whole; what an earlier run had taken is free again at once."""
        await self.reserve()
        await self._file.prove_whole()
        await self._free_all()

    async def hear(self, ring: Callable[[], None]) -> None:  # noqa: ARG002 - the contract's
        """Nothing to hear: there is one service, and it rings its own bells."""
        await asyncio.Event().wait()

    async def tidy(self, before: datetime) -> int:
        """Forget what was finished before then, a little at a time, and empty the write-ahead log."""
        gone = await super().tidy(before)
        self._file.checkpoint()
        return gone
