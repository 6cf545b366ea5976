"""Group commit: what several tasks want written at one moment is one transaction; the disk is waited for once."""

import asyncio
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from bot.store.sql.unit import Unit

Work = Callable[[Unit], Any]


@dataclass(frozen=True, slots=True, eq=False)
class Job:
    """A unit of work that waits, whether it must survive a power cut, and who waits for its result."""

    work: Work
    durable: bool
    done: asyncio.Future[Any]


@dataclass(frozen=True, slots=True)
class Failed:
    """A job that was undone alone, by this error."""

    error: Exception


def run_all(conn: sqlite3.Connection, unit: Unit, jobs: Sequence[Job]) -> list[object]:
    """Run jobs one after the other in one transaction; each one's result, or the error that undid it.

    A lone job's error is raised, and so is one that made SQLite undo everything.
    """
    with _synced(conn, durable=any(job.durable for job in jobs)), transaction(conn, "BEGIN IMMEDIATE"):
        if len(jobs) == 1:
            return [jobs[0].work(unit)]
        return [_alone(conn, unit, job.work) for job in jobs]


def _alone(conn: sqlite3.Connection, unit: Unit, work: Work) -> object:
    conn.execute("SAVEPOINT job")
    try:
        result: object = work(unit)
    except Exception as error:
        if not conn.in_transaction:
            raise
        conn.execute("ROLLBACK TO job")
        result = Failed(error)
    conn.execute("RELEASE job")
    return result


@contextmanager
def _synced(conn: sqlite3.Connection, *, durable: bool) -> Iterator[None]:
    """Wait for the disk at the end, or let the next who waits for it do so."""
    if durable:
        yield
        return
    conn.execute("PRAGMA synchronous = NORMAL")
    try:
        yield
    finally:
        conn.execute("PRAGMA synchronous = FULL")


@contextmanager
def transaction(conn: sqlite3.Connection, begin: str) -> Iterator[None]:
    """A transaction that ends with the block: committed, or undone where it failed."""
    conn.execute(begin)
    try:
        yield
        conn.execute("COMMIT")
    except BaseException:
        if conn.in_transaction:
            conn.execute("ROLLBACK")
        raise
