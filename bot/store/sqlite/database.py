"""A database file: opened as ours or refused, one unit of work at a time, its errors turned into sentences."""

import asyncio
import logging
import os
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from sqlite_utils import Database

from bot.store.contract import Contradiction, StoreBroken
from bot.store.sql.unit import Found, Room, Unit
from bot.store.sqlite import schema
from bot.store.sqlite.together import Failed, Job, run_all, transaction

log = logging.getLogger(__name__)
T = TypeVar("T")

_PRAGMAS = (
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
    "PRAGMA secure_delete = ON",
    "PRAGMA cache_size = -16384",
    "PRAGMA journal_size_limit = 16777216",
    "PRAGMA trusted_schema = OFF",
)
_RETRY_SECONDS = 0.01
_GATHERING = 3
"""How many turns of the event loop a commit lets those come along who were woken together with whoever asked for it."""
_MOST_FAULTS = 3
"""How many faults of a damaged file are named."""
_SENTENCES = {
    sqlite3.SQLITE_FULL: "the disk is full; free some space",
    sqlite3.SQLITE_READONLY: "the database cannot be written; check the rights of the file and its folder",
    sqlite3.SQLITE_IOERR: "the disk does not answer as it should; check it and the space left on it",
    sqlite3.SQLITE_CORRUPT: "the database file is damaged; restore the last backup with `brimful restore`",
    sqlite3.SQLITE_NOTADB: "the file is not a database; give another path",
    sqlite3.SQLITE_CANTOPEN: "the database cannot be opened; check that its folder exists and may be written",
    sqlite3.SQLITE_PERM: "the database may not be opened; check the rights of the file and its folder",
}


def _primary(error: sqlite3.Error) -> int:
    """The primary result code of an error; the extended ones carry it in their lowest byte."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


def is_busy(error: sqlite3.Error) -> bool:
    """Whether somebody else holds the lock."""
    return _primary(error) in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}


def in_words(path: Path, error: sqlite3.Error) -> StoreBroken:
    """What an error of the engine means for whoever looks after the file."""
    if is_busy(error):
        return StoreBroken(f"{path}: another program holds the database; end it or wait until it is done")
    return StoreBroken(f"{path}: {_SENTENCES.get(_primary(error), f'the database refused: {error}')}")


def faults_of(conn: sqlite3.Connection, *, quick: bool = False) -> list[str]:
    """What is wrong with a file, in SQLite's words; `quick` does not hold the indexes against their tables."""
    check = "quick_check" if quick else "integrity_check"
    rows = conn.execute(f"PRAGMA {check}({_MOST_FAULTS})").fetchall()
    faults = [" ".join(str(row[0]).split()) for row in rows if row[0] != "ok"]
    astray = [] if quick else conn.execute("PRAGMA foreign_key_check").fetchmany(_MOST_FAULTS)
    return [*faults, *(f"a row of {row[0]} points at nothing in {row[2]}" for row in astray)]


class _Unit:
    """A transaction on the one connection; SQLite lets only one of them write, so nothing needs locks of its own."""

    def __init__(self, conn: sqlite3.Connection) -> None:
        self._conn = conn

    def execute(self, sql: str, values: Mapping[str, Any] | None = None) -> Found:
        """Run one statement."""
        return self._conn.execute(sql, values or {})

    def lock(self, room: Room, names: Iterable[Sequence[str | None]]) -> None:
        """Nothing: the transaction holds the whole file."""


class File:
    """One connection to one database file, used by one thread.

    Nothing is awaited inside a unit of work, so units of several tasks never mix. A lock held by another process is
    waited for outside SQLite, so that the event loop goes on meanwhile.
    """

    def __init__(self, path: Path, patience: float = 5.0) -> None:
        self.path = path
        self._patience = patience
        self._db: Database | None = None
        self._jobs: list[Job] = []
        self._writing: asyncio.Task[None] | None = None

    @property
    def db(self) -> Database:
        """The open database; StoreBroken if it is not open."""
        if self._db is None:
            raise StoreBroken(f"{self.path}: the store is not open")
        return self._db

    async def open(self) -> None:
        """Open the file, make sure that it is ours and bring its schema up to date."""
        await self._patiently(self._open)

    def close(self) -> None:
        """Close the connection; does nothing where none is open."""
        if self._db is not None:
            self._db.conn.close()
            self._db = None

    async def write(self, work: Callable[[Unit], T], *, durable: bool = True) -> T:
        """Run `work` in an immediate transaction, with what others want written at this moment. One that need not
        survive a power cut is not synced for its own sake.
        """
        loop = asyncio.get_running_loop()
        job = Job(work, durable, loop.create_future())
        self._jobs.append(job)
        if self._writing is None or self._writing.done():
            self._writing = loop.create_task(self._write_all(), name="writing")
        done: T = await job.done
        return done

    async def read(self, work: Callable[[Unit], T]) -> T:
        """Run `work` on one unchanging view of the database."""
        return await self._patiently(lambda: self._read(work))

    async def prove_whole(self) -> None:
        """Read every page; StoreBroken if one is damaged."""
        faults = await self._patiently(lambda: faults_of(self.db.conn, quick=True))
        if faults:
            raise StoreBroken(f"{self.path}: {_SENTENCES[sqlite3.SQLITE_CORRUPT]} ({faults[0]})")

    def checkpoint(self) -> None:
        """Move the write-ahead log into the database and empty it, as far as no reader holds it."""
        self.db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()

    @contextmanager
    def unit(self, *, writes: bool) -> Iterator[Unit]:
        """A transaction for a tool that has the database to itself."""
        with transaction(self.db.conn, "BEGIN IMMEDIATE" if writes else "BEGIN"):
            yield _Unit(self.db.conn)

    async def _write_all(self) -> None:
        """Write what has gathered until there is nothing more. Whoever went away meanwhile wants nothing written."""
        while self._jobs:
            for _ in range(_GATHERING):
                await asyncio.sleep(0)
            jobs = [job for job in self._jobs if not job.done.done()]
            self._jobs.clear()
            if not jobs:
                return
            fates: list[object]
            try:
                fates = await self._patiently(partial(run_all, self.db.conn, _Unit(self.db.conn), jobs))
            except Exception as error:  # everybody's
                fates = [Failed(error)] * len(jobs)
            for job, fate in zip(jobs, fates, strict=True):
                if job.done.done():
                    continue
                if isinstance(fate, Failed):
                    job.done.set_exception(self._in_words(fate.error))
                else:
                    job.done.set_result(fate)

    def _read(self, work: Callable[[Unit], T]) -> T:
        with transaction(self.db.conn, "BEGIN"):
            return work(_Unit(self.db.conn))

    def _in_words(self, error: Exception) -> Exception:
        if isinstance(error, sqlite3.IntegrityError):
            said: Exception = Contradiction(f"{self.path}: this contradicts what is stored: {error}")
        elif isinstance(error, sqlite3.Error):
            said = in_words(self.path, error)
        else:
            return error
        said.__cause__ = error
        return said

    async def _patiently(self, call: Callable[[], T]) -> T:
        loop = asyncio.get_running_loop()
        deadline = loop.time() + self._patience
        while True:
            try:
                return call()
            except sqlite3.Error as error:
                if not is_busy(error) or loop.time() > deadline:
                    raise self._in_words(error) from error
            await asyncio.sleep(_RETRY_SECONDS)

    def _open(self) -> None:
        if not self.path.parent.is_dir():
            raise StoreBroken(f"{self.path}: there is no folder {self.path.parent}; make it, or give another path")
        make_private(self.path)
        conn = sqlite3.connect(self.path, isolation_level=None, timeout=0)
        try:
            self._check_ours(conn)
            self.path.chmod(0o600)
            for pragma in _PRAGMAS:
                conn.execute(pragma)
            conn.row_factory = sqlite3.Row
            db = Database(conn, execute_plugins=False)
            self._migrate(db)
        except BaseException:
            conn.close()
            raise
        self._db = db

    def _check_ours(self, conn: sqlite3.Connection) -> None:
        """Refuse somebody else's file before a single byte of it is changed."""
        try:
            (mark,) = conn.execute("PRAGMA application_id").fetchone()
            (tables,) = conn.execute("SELECT count(*) FROM sqlite_master").fetchone()
        except sqlite3.DatabaseError as error:
            if _primary(error) != sqlite3.SQLITE_NOTADB:
                raise
            mark, tables = 0, 1
        if mark != schema.APPLICATION and tables:
            raise StoreBroken(
                f"{self.path} is not a Brimful database; give another path, or one that does not exist yet"
            )

    def _migrate(self, db: Database) -> None:
        with transaction(db.conn, "BEGIN IMMEDIATE"):
            newer = set(schema.names_in(db)) - set(schema.known_names())
            if newer:
                raise StoreBroken(
                    f"{self.path} was written by a newer version of Brimful ({min(newer)}); install that version"
                )
            schema.MIGRATIONS.apply(db)
            db.conn.execute(f"PRAGMA application_id = {schema.APPLICATION}")


def make_private(path: Path) -> None:
    """Make a file that only its owner may read; one that exists stays as it is. SQLite gives side files the same."""
    try:
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
    except OSError as error:
        raise StoreBroken(f"{path}: {error.strerror}; check the rights of the file and its folder") from error


class Claim:
    """The right to be the only service on a database file, given back by the system when the process dies.

    It is an exclusive transaction, never committed, on a small database of its own beside the file: the same on every
    system, and no process id that could be somebody else's by now.
    """

    def __init__(self, path: Path) -> None:
        self._path = path.with_name(path.name + ".running")
        self._conn: sqlite3.Connection | None = None

    def take(self) -> None:
        """Take it; StoreBroken if somebody else has it. Taking it twice is taking it once."""
        if self._conn is not None:
            return
        make_private(self._path)
        conn = sqlite3.connect(self._path, isolation_level=None, timeout=0)
        try:
            conn.execute("BEGIN EXCLUSIVE")
        except sqlite3.Error as error:
            conn.close()
            if is_busy(error):
                raise StoreBroken(
                    f"{self._path.stem}: another Brimful is running on this database; stop it first"
                ) from error
            raise StoreBroken(f"{self._path}: cannot be locked: {error}") from error
        self._conn = conn

    def give_back(self) -> None:
        """Let somebody else run."""
        if self._conn is not None:
            with closing(self._conn) as conn:
                conn.execute("ROLLBACK")
            self._conn = None
