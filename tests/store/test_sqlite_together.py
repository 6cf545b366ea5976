"""Several programs on one database file."""

import asyncio
import sqlite3
import subprocess
import sys
from collections.abc import AsyncIterator
from contextlib import closing
from pathlib import Path

import pytest

from bot.model.conversation import Conversation
from bot.model.known import Outcome
from bot.store.contract import Conflict, StoreBroken
from bot.store.sqlite import SqliteStore
from tests.store.contract.rooms import take
from tests.store.samples import ADA, CEDAR, NOON, NORTH, entry, wrote

OPEN = """
import asyncio, sys
from bot.store.sqlite import SqliteStore
async def main():
    store = SqliteStore(sys.argv[1])
    print("ready", flush=True)
    sys.stdin.readline()
    await store.open()
    await store.close()
asyncio.run(main())
"""


@pytest.fixture
async def store(tmp_path: Path) -> AsyncIterator[SqliteStore]:
    store = SqliteStore(tmp_path / "brimful.db", patience=0.05)
    await store.open()
    await store.put_dealer(NORTH)
    await store.put("north", [ADA], [CEDAR], [("ada", "cedar")])
    yield store
    await store.close()


def test_three_processes_that_start_at_once_on_no_database_all_come_up(tmp_path: Path):
    path = tmp_path / "brimful.db"
    processes = [
        subprocess.Popen(
            [sys.executable, "-c", OPEN, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        for _ in range(3)
    ]
    for process in processes:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
    for process in processes:
        assert process.stdin is not None
        process.stdin.write("go\n")
        process.stdin.flush()
    for process in processes:
        process.communicate(timeout=30)
    assert [process.returncode for process in processes] == [0, 0, 0]
    with closing(sqlite3.connect(path)) as conn:
        names = [name for (name,) in conn.execute("SELECT name FROM _sqlite_migrations")]
    assert len(names) == len(set(names)) >= 1


async def test_a_lock_held_too_long_is_said_and_nothing_was_done(store: SqliteStore, tmp_path: Path):
    with closing(sqlite3.connect(tmp_path / "brimful.db", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreBroken, match="another program holds the database"):
            await store.receive(wrote("1"))
        assert (await store.known(wrote("1"))).person == ADA  # reading goes on
        other.execute("ROLLBACK")
    assert await store.receive(wrote("1"))


async def test_a_lock_let_go_in_time_is_waited_for_while_others_go_on(tmp_path: Path, store: SqliteStore):
    patient = SqliteStore(tmp_path / "brimful.db", patience=30)
    await patient.open()
    with closing(sqlite3.connect(tmp_path / "brimful.db", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        waiting = asyncio.create_task(patient.receive(wrote("1")))
        for _ in range(5):
            await asyncio.sleep(0)  # the loop runs although the store waits
        assert not waiting.done()
        other.execute("ROLLBACK")
        assert await waiting
    await patient.close()


async def test_of_two_writers_who_decide_on_the_same_reading_one_reads_again(store: SqliteStore, tmp_path: Path):
    other = SqliteStore(tmp_path / "brimful.db")
    await other.open()
    await store.receive(wrote("1"))
    taken, known = await take(store)
    await other.write([entry("imported")])
    with pytest.raises(Conflict):
        await store.settle(taken, known, Outcome(conversation=Conversation(serial=1)), NOON)
    known = await store.known(taken.arrival)
    await store.settle(taken, known, Outcome(conversation=Conversation(serial=1)), NOON)
    assert (await other.known(wrote("2"))).conversation.version == 1
    await other.close()


async def test_two_workers_never_take_the_same_arrival(store: SqliteStore, tmp_path: Path):
    other = SqliteStore(tmp_path / "brimful.db", patience=30)
    await other.open()
    for number in range(60):
        await store.receive(wrote(str(number), at=str(number % 7)))
    seen: list[str] = []

    async def work(worker: SqliteStore) -> None:
        while (taken := await worker.take(NOON)) is not None:
            await asyncio.sleep(0)
            await worker.settle(taken, await worker.known(taken.arrival), Outcome(), NOON)
            seen.append(taken.arrival.update)

    await asyncio.gather(work(store), work(other), work(store))
    assert sorted(seen, key=int) == [str(number) for number in range(60)]
    for at in range(7):
        of_chat = [int(update) for update in seen if int(update) % 7 == at]
        assert of_chat == sorted(of_chat)
    await other.close()


async def test_a_store_used_from_another_thread_refuses(store: SqliteStore):
    with pytest.raises(StoreBroken, match="thread"):
        await asyncio.to_thread(asyncio.run, store.dealers())
