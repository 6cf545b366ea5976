"""The PostgreSQL store: every call is one unit of work on a pooled connection."""

from collections.abc import Callable

from bot.store.contract import StoreBroken
from bot.store.postgres.database import Server
from bot.store.sql.store import SqlStore


class PostgresStore(SqlStore):
    """The store contract on a PostgreSQL database, for any number of services at once.

    `size` is how many units of work run at once, `patience` how many seconds a server that does not answer is waited
    for.
    """

    def __init__(self, dsn: str, *, size: int = 8, patience: float = 5.0) -> None:
        self._server = Server(dsn, size=size, patience=patience)
        super().__init__(self._server)

    async def open(self) -> None:
        """Connect and bring the schema up to date, safely when several do so at once."""
        await self._server.open()

    async def close(self) -> None:
        """Close; what was committed stays."""
        self._server.close()

    async def reserve(self) -> None:
        """Make sure that no service runs on this database; StoreBroken if one does."""
        if not await self._server.is_alone():
            raise StoreBroken(f"{self._server.place}: Brimful is running on this database; stop it first")

    async def take_over(self) -> None:
        """Begin to run. Where no other service runs, what an earlier one had taken is free again at once; what a
        service takes that dies beside others is free when its lease runs out.
        """
        if await self._server.is_alone():
            await self._free_all()

    async def hear(self, ring: Callable[[], None]) -> None:
        """Ring whenever any service put something into inbox or outbox."""
        await self._server.listen(ring)
