"""A PostgreSQL database: a pool of connections, units of work in threads of their own, errors turned into sentences.

A unit of work is the same synchronous function that runs on SQLite. It runs on a pooled connection in a worker thread,
so the event loop never waits for the network, and a unit is not cut into as many pieces as it has statements.
"""

import asyncio
import hashlib
import logging
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import cache, partial
from typing import Any, TypeVar

import psycopg
from psycopg import errors
from psycopg.conninfo import conninfo_to_dict, make_conninfo
from psycopg.rows import DictRow, dict_row
from psycopg_pool import ConnectionPool, PoolTimeout

from bot.store.contract import Contradiction, StoreBroken
from bot.store.postgres import schema
from bot.store.sql.unit import Found, Room, Unit

log = logging.getLogger(__name__)
T = TypeVar("T")

_ALONE = 0x4272696E
"""The advisory lock that every running service shares."""
_RETRY_SECONDS = 0.05
_CONNECT_SECONDS = 5
_LISTEN_AGAIN_SECONDS = 1.0
_DYING_SECONDS = 1.5
_LOCK = "SELECT pg_advisory_xact_lock(key) FROM unnest(%(keys)s::bigint[]) AS key"
_RUN = "SELECT pg_advisory_lock_shared(%s, hashtext(current_schema()))"
_OTHERS = """
SELECT count(*) AS others FROM pg_locks
WHERE locktype = 'advisory' AND classid = %s AND granted AND pid <> pg_backend_pid()
  AND objid::bigint = hashtext(current_schema())::bigint & 4294967295
  AND database = (SELECT oid FROM pg_database WHERE datname = current_database())
"""
_LOOK = "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
_BEGIN = {True: "BEGIN", False: "BEGIN; SET LOCAL synchronous_commit = off"}
# Undone by the server so that another unit could go on, or cut off before its end was heard of.
_AGAIN = (errors.SerializationFailure, errors.DeadlockDetected)


@cache
def in_psycopg(sql: str) -> str:
    """A statement with the parameters and the words that PostgreSQL wants."""
    sql = re.sub(r"\bINDEXED BY \w+", "", sql)
    sql = re.sub(r"/\*pg (.*?)\*/", r"\1", sql)
    sql = re.sub(r"\bjson_each\((:\w+)\) AS (\w+)", r"json_array_elements_text(CAST(\1 AS json)) AS \2(value)", sql)
    return re.sub(r"(?<![:\w]):([a-z]\w*)", r"%(\1)s", sql.replace("%", "%%"))


def number_of(room: Room, name: Sequence[str | None]) -> int:
    """The number of an advisory lock. Two names with one number only wait for each other without need."""
    text = "\x1f".join((room, *map(str, name)))
    return int.from_bytes(hashlib.blake2b(text.encode(), digest_size=8).digest(), "big", signed=True)


class _Unit:
    """A transaction on one connection."""

    def __init__(self, conn: psycopg.Connection[DictRow]) -> None:
        self._conn = conn

    def execute(self, sql: str, values: Mapping[str, Any] | None = None) -> Found:
        """Run one statement."""
        return self._conn.execute(in_psycopg(sql), values or {})

    def lock(self, room: Room, names: Iterable[Sequence[str | None]]) -> None:
        """Wait until no other unit is at work on these, until this one ends; always in the same order."""
        keys = sorted({number_of(room, name) for name in names if None not in name})
        if keys:
            self._conn.execute(_LOCK, {"keys": keys})


class Server:
    """Connections to one database; the DSN may name a schema by `options=-csearch_path=...`.

    `size` is how many units run at once, `patience` how many seconds a server that does not answer is waited for.
    """

    def __init__(self, dsn: str, *, size: int = 8, patience: float = 5.0) -> None:
        self.place = place_of(dsn)
        self._dsn = make_conninfo(dsn, connect_timeout=_CONNECT_SECONDS, application_name="brimful")
        self._size = size
        self._patience = patience
        self._pool: ConnectionPool[psycopg.Connection[DictRow]] | None = None
        self._threads: ThreadPoolExecutor | None = None
        self._watch: psycopg.Connection[DictRow] | None = None

    async def open(self) -> None:
        """Connect, and bring the schema up to date."""
        self._threads = ThreadPoolExecutor(self._size + 1, thread_name_prefix="postgres")
        try:
            await self._in_thread(self._open)
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """Close every connection; does nothing where none is open."""
        if self._watch is not None:
            self._watch.close()
            self._watch = None
        if self._pool is not None:
            self._pool.close()
            self._pool = None
        if self._threads is not None:
            self._threads.shutdown(wait=False)
            self._threads = None

    async def write(self, work: Callable[[Unit], T], *, durable: bool = True) -> T:
        """Run `work` in one transaction; one that another unit got in the way of is run again."""
        return await self._patiently(partial(self._unit, _BEGIN[durable], work))

    async def read(self, work: Callable[[Unit], T]) -> T:
        """Run `work` on one unchanging view of the database."""
        return await self._patiently(partial(self._unit, _LOOK, work))

    async def is_alone(self) -> bool:
        """Say that this service runs, and whether no other one runs on this database.

        The server takes a moment to notice that a process has died.
        """
        deadline = asyncio.get_running_loop().time() + _DYING_SECONDS
        while True:
            alone = await self._patiently(self._is_alone)
            if alone or asyncio.get_running_loop().time() > deadline:
                return alone
            await asyncio.sleep(_RETRY_SECONDS)

    async def listen(self, ring: Callable[[], None]) -> None:
        """Ring at every NOTIFY of the schema's triggers, and once after each time the connection was lost."""
        while True:
            try:
                async with await psycopg.AsyncConnection.connect(self._dsn, autocommit=True) as conn:
                    await conn.execute(schema.LISTEN)
                    ring()
                    async for _ in conn.notifies():
                        ring()
            except psycopg.Error as error:
                log.warning("%s: not listening for a moment: %s", self.place, type(error).__name__)
            await asyncio.sleep(_LISTEN_AGAIN_SECONDS)

    def _open(self) -> None:
        try:
            with psycopg.connect(self._dsn, autocommit=True, row_factory=dict_row) as conn:
                schema.migrate(conn)
        except psycopg.Error as error:
            raise self._broken(error) from error
        pool = ConnectionPool(
            self._dsn,
            connection_class=psycopg.Connection[DictRow],
            kwargs={"autocommit": True, "row_factory": dict_row, "prepare_threshold": 2},
            min_size=1,
            max_size=self._size,
            timeout=max(self._patience, 0.1),
            max_idle=300,
            open=False,
            name="brimful",
        )
        pool.open()
        self._pool = pool

    def _is_alone(self) -> bool:
        if self._watch is None or self._watch.closed:
            self._watch = psycopg.connect(self._dsn, autocommit=True, row_factory=dict_row)
            self._watch.execute(_RUN, (_ALONE,))
        (row,) = self._watch.execute(_OTHERS, (_ALONE,)).fetchall()
        return int(row["others"]) == 0

    @contextmanager
    def unit(self, *, writes: bool) -> Iterator[Unit]:
        """A transaction for a tool that has the database to itself."""
        with self._transaction(_BEGIN[True] if writes else _LOOK) as unit:
            yield unit

    def _unit(self, begin: str, work: Callable[[Unit], T]) -> T:
        with self._transaction(begin) as unit:
            return work(unit)

    @contextmanager
    def _transaction(self, begin: str) -> Iterator[Unit]:
        if self._pool is None:
            raise StoreBroken(f"{self.place}: the store is not open")
        with self._pool.connection() as conn:
            conn.execute(begin)
            try:
                yield _Unit(conn)
                conn.execute("COMMIT")
            except BaseException:
                if not conn.closed and not conn.broken:
                    conn.execute("ROLLBACK")
                raise

    async def _in_thread(self, call: Callable[[], T]) -> T:
        return await asyncio.get_running_loop().run_in_executor(self._threads, call)

    async def _patiently(self, call: Callable[[], T]) -> T:
        if self._threads is None:
            raise StoreBroken(f"{self.place}: the store is not open")
        loop = asyncio.get_running_loop()
        deadline = loop.time() + self._patience
        while True:
            try:
                return await self._in_thread(call)
            except _AGAIN as error:
                if loop.time() > deadline:
                    raise self._broken(error) from error
            except (psycopg.IntegrityError, psycopg.DataError) as error:
                raise Contradiction(f"{self.place}: this contradicts what is stored: {_what(error)}") from error
            except (psycopg.Error, PoolTimeout) as error:
                raise self._broken(error) from error
            await asyncio.sleep(_RETRY_SECONDS)

    def _broken(self, error: Exception) -> StoreBroken:
        if isinstance(error, PoolTimeout | psycopg.OperationalError) and getattr(error, "sqlstate", None) is None:
            return StoreBroken(f"{self.place}: the database server does not answer; check that it runs and lets us in")
        return StoreBroken(f"{self.place}: the database server refused: {_what(error)}")


def _what(error: Exception) -> str:
    """What the server said, without the values that it may quote."""
    diag = getattr(error, "diag", None)
    said = getattr(diag, "message_primary", None)
    return said or type(error).__name__


def place_of(dsn: str) -> str:
    """Which database a DSN names, without its password; StoreBroken where it is none."""
    try:
        parts = conninfo_to_dict(dsn)
    except psycopg.Error:
        raise StoreBroken(
            "this is no address of a PostgreSQL database; write it like postgresql://brimful@db.internal/brimful"
        ) from None
    return f"postgresql://{parts.get('host', 'localhost')}/{parts.get('dbname', '')}"
