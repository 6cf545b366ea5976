"""What an update costs from its arrival to its answer being sent, in durable commits of the same disk.

`python -m tests.bench.store` prints a table; each part is a ratio to a bare durable commit of one small row.
"""

import argparse
import asyncio
import sqlite3
import tempfile
import time
from collections import defaultdict
from collections.abc import Awaitable
from contextlib import closing
from pathlib import Path
from typing import TypeVar

from bot.model.conversation import Conversation
from bot.model.known import Outcome
from bot.model.message import Delivered
from bot.store.sqlite import SqliteStore
from tests.store.samples import ADA, CEDAR, CHANNEL, NOON, NORTH, chat, entry, message, wrote

T = TypeVar("T")


class Stopwatch:
    """Adds up seconds by name."""

    def __init__(self) -> None:
        self.seconds: defaultdict[str, float] = defaultdict(float)

    async def of(self, name: str, work: Awaitable[T]) -> T:
        began = time.perf_counter()
        result = await work
        self.seconds[name] += time.perf_counter() - began
        return result


def commit_seconds(folder: Path, times: int) -> float:
    """Seconds of a bare durable commit in the same mode."""
    with closing(sqlite3.connect(folder / "bare.db", isolation_level=None)) as conn:
        conn.execute("PRAGMA journal_mode = WAL")
        conn.execute("PRAGMA synchronous = FULL")
        conn.execute("CREATE TABLE t (a INTEGER PRIMARY KEY, b TEXT)")
        began = time.perf_counter()
        for _ in range(times):
            conn.execute("INSERT INTO t (b) VALUES ('x')")
        return (time.perf_counter() - began) / times


async def update_seconds(folder: Path, times: int, chats: int, entries: int) -> dict[str, float]:
    """Seconds of each part of an update's way, with so many chats and so many entries in each journal."""
    store = SqliteStore(folder / "bench.db")
    await store.open()
    await store.put_dealer(NORTH)
    keys = [f"p{n}" for n in range(chats)]
    people = [ADA.model_copy(update={"key": key, "address": chat(key)}) for key in keys]
    tubs = [CEDAR.model_copy(update={"key": key}) for key in keys]
    await store.put("north", people, tubs, [(key, key) for key in keys])
    for key in keys:
        await store.write([entry(f"{key} {n}", tub=key, person=key) for n in range(entries)])
    watch = Stopwatch()
    for n in range(times):
        key = keys[n % chats]
        await watch.of("receive", store.receive(wrote(str(n), at=key)))
        taken = await watch.of("take", store.take(NOON))
        if taken is None:
            raise AssertionError("what was received cannot be taken")
        known = await watch.of("known", store.known(taken.arrival))
        outcome = Outcome(
            entries=(entry(str(n), tub=key, person=key),),
            conversation=Conversation(serial=n),
            messages=(message("an answer of usual length, " * 4, to=key),),
        )
        await watch.of("settle", store.settle(taken, known, outcome, NOON))
        for parcel in await watch.of("next_parcels", store.next_parcels(CHANNEL, NOON, 1)):
            await watch.of("delivered", store.delivered(parcel, Delivered(), NOON))
    await store.close()
    return {name: seconds / times for name, seconds in watch.seconds.items()}


async def main(times: int, entries: int) -> None:
    """Print the table."""
    counts = (1, 100, 5_000)
    columns = []
    for chats in counts:
        with tempfile.TemporaryDirectory() as folder:
            bare = commit_seconds(Path(folder), times)
            parts = await update_seconds(Path(folder), times, chats, entries if chats <= 100 else 0)
            columns.append((bare, parts))
    print(f"{'in bare commits':<16}" + "".join(f"{chats:>9,} chats" for chats in counts))
    for name in columns[0][1]:
        print(f"{name:<16}" + "".join(f"{parts[name] / bare:>15.2f}" for bare, parts in columns))
    print(f"{'whole update':<16}" + "".join(f"{sum(parts.values()) / bare:>15.2f}" for bare, parts in columns))
    print(f"{'a second':<16}" + "".join(f"{1 / sum(parts.values()):>15.0f}" for _, parts in columns))
    print(f"{'bare commits':<16}" + "".join(f"{1 / bare:>15.0f}" for bare, _ in columns))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(prog="python -m tests.bench.store")
    parser.add_argument("--times", type=int, default=1_000)
    parser.add_argument("--entries", type=int, default=20, help="entries in each journal")
    options = parser.parse_args()
    asyncio.run(main(options.times, options.entries))
