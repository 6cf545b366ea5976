"""What is wanted written at one moment is one commit, in which each has a fate of its own."""

import asyncio
import sqlite3
from collections.abc import AsyncIterator
from contextlib import closing
from pathlib import Path

import pytest

from bot.store.contract import Contradiction, StoreBroken
from bot.store.sql.unit import Unit
from bot.store.sqlite import SqliteStore
from tests.store.samples import NORTH, wrote


@pytest.fixture
async def store(tmp_path: Path) -> AsyncIterator[SqliteStore]:
    store = SqliteStore(tmp_path / "brimful.db", patience=0.05)
    await store.open()
    await store.put_dealer(NORTH)
    yield store
    await store.close()


def kept(store: SqliteStore) -> list[str]:
    """What somebody else finds in the file."""
    with closing(sqlite3.connect(store._file.path)) as conn:
        return [update for (update,) in conn.execute("SELECT update_id FROM inbox ORDER BY number")]


def contradicts(db: Unit) -> None:
    db.execute(
        "INSERT INTO people (dealer, key, role, standing, body) VALUES ('north', 'eve', 'owner', 'active', '{}')"
    )
    db.execute("INSERT INTO links (dealer, person, tub) VALUES ('north', 'nobody', 'nothing')")


async def test_all_are_in_one_commit_in_their_order(store: SqliteStore):
    said: list[str] = []
    store._file.db.conn.set_trace_callback(said.append)
    await asyncio.gather(*(store.receive(wrote(str(number), at=str(number % 3))) for number in range(20)))
    assert said.count("COMMIT") == 1
    assert kept(store) == [str(number) for number in range(20)]


async def test_one_that_contradicts_is_undone_alone(store: SqliteStore):
    fates = await asyncio.gather(
        store.receive(wrote("1")),
        store.units.write(contradicts),
        store.receive(wrote("2")),
        return_exceptions=True,
    )
    assert (fates[0], fates[2]) == (True, True)
    assert isinstance(fates[1], Contradiction)
    assert kept(store) == ["1", "2"]
    assert await store.person("north", "eve") is None


async def test_a_fault_that_is_nobody_s_fault_is_everybody_s(store: SqliteStore):
    with closing(sqlite3.connect(store._file.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        fates = await asyncio.gather(*(store.receive(wrote(str(n))) for n in range(3)), return_exceptions=True)
        other.execute("ROLLBACK")
    assert [type(fate) for fate in fates] == [StoreBroken] * 3
    assert kept(store) == []
    assert await store.receive(wrote("again"))


async def test_whoever_went_away_before_their_turn_wants_nothing_written(store: SqliteStore):
    gone = asyncio.create_task(store.receive(wrote("1")))
    here = asyncio.create_task(store.receive(wrote("2")))
    gone.cancel()
    await asyncio.wait([gone, here])
    waiting = asyncio.create_task(store.receive(wrote("3")))
    await asyncio.sleep(0)
    waiting.cancel()
    await store.receive(wrote("4"))
    assert kept(store) == ["2", "4"]
