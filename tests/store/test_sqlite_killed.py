"""The database file after kill -9 in the middle of writing."""

import random
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from bot.model.known import Outcome
from bot.store.sqlite import SqliteStore
from tests.store.samples import NOON

LOAD = """
import asyncio, sys
from bot.model.known import Outcome
from bot.store.sqlite import SqliteStore
from tests.store.samples import *

async def main():
    store = SqliteStore(sys.argv[1])
    await store.open()
    await store.take_over()
    await store.put_dealer(NORTH)
    await store.put("north", [ADA], [CEDAR], [("ada", "cedar")])
    for number in range(int(sys.argv[2]), 10**9):
        await store.receive(wrote(str(number)))
        print("received", number, flush=True)
        while (taken := await store.take(NOON)) is not None:
            update = taken.arrival.update
            outcome = Outcome(entries=(entry(update),), messages=(message(update),), set_dues=(due(update, NOON),))
            await store.settle(taken, await store.known(taken.arrival), outcome, NOON)
            print("settled", update, flush=True)
asyncio.run(main())
"""


def load_until_killed(path: Path, start: int, chance: random.Random) -> list[tuple[str, int]]:
    """Run the load, kill it at some instant, and return what it had said by then."""
    process = subprocess.Popen([sys.executable, "-c", LOAD, str(path), str(start)], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    said = [process.stdout.readline()]
    time.sleep(chance.uniform(0.0, 0.1))
    process.kill()
    said += process.stdout.readlines()
    process.wait()
    process.stdout.close()
    return [(what, int(number)) for what, number in (line.split() for line in said if line.endswith("\n"))]


@pytest.mark.parametrize("seed", [1, 2, 3])
async def test_what_was_said_to_be_kept_is_kept_and_whole(tmp_path: Path, seed: int):
    path = tmp_path / "brimful.db"
    chance = random.Random(seed)
    said: list[tuple[str, int]] = []
    for _ in range(2):
        start = max((number for _, number in said), default=0) + 1
        said += load_until_killed(path, start, chance)
    assert said
    with closing(sqlite3.connect(path)) as conn:
        assert conn.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert conn.execute("PRAGMA foreign_key_check").fetchall() == []
        received = {int(update) for (update,) in conn.execute("SELECT update_id FROM inbox")}
        done = {int(update) for (update,) in conn.execute("SELECT update_id FROM inbox WHERE state = 'done'")}
        for table, column in (("journal", "key"), ("dues", "key"), ("outbox", "json_extract(body, '$.text')")):
            rows = [int(value) for (value,) in conn.execute(f"SELECT {column} FROM {table}")]
            assert sorted(rows) == sorted(done), table
    assert {number for what, number in said if what == "received"} <= received
    assert {number for what, number in said if what == "settled"} <= done
    store = SqliteStore(path)
    await store.open()
    await store.take_over()
    while (taken := await store.take(NOON)) is not None:
        await store.settle(taken, await store.known(taken.arrival), Outcome(), NOON)
        done.add(int(taken.arrival.update))
    assert done == received
    await store.close()
