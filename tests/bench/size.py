"""What a service costs before anybody writes, and as its owners grow. `python -m tests.bench.size` prints a table.

Seconds from the start of the process to its first question to the service; resident memory idle and after a load; and
what one update costs in a database of few and of many owners.
"""

import argparse
import asyncio
import sqlite3
import tempfile
import time
from contextlib import closing
from pathlib import Path

from bot.model.known import Outcome
from bot.store.sql.records import person_row
from bot.store.sqlite import SqliteStore
from tests.bench.updates import PROGRAMS, _crowd, running
from tests.botapi import Background, BotApi, Limits
from tests.kill.program import DEALER, prepare
from tests.store.samples import ADA, NOON, chat, entry, message, wrote

PEOPLE = """
INSERT INTO people (dealer, key, role, standing, channel, chat, body)
SELECT :dealer, 'p' || value, :role, :standing, :channel, 'c' || value, :body FROM numbers
"""
TUBS = "INSERT INTO tubs (dealer, key, body) SELECT :dealer, 't' || value, :body FROM numbers"
LINKS = "INSERT INTO links (dealer, person, tub) SELECT :dealer, 'p' || value, 't' || value FROM numbers"
NUMBERS = """
CREATE TEMP TABLE numbers AS
WITH RECURSIVE n (value) AS (VALUES (0) UNION ALL SELECT value + 1 FROM n WHERE value + 1 < :count) SELECT value FROM n
"""


def resident(process: int) -> float:
    """Resident memory of a process, in MB; zero where the system does not say."""
    status = Path(f"/proc/{process}/status")
    lines = status.read_text(encoding="utf-8").splitlines() if status.exists() else []
    return sum(int(line.split()[1]) / 1024 for line in lines if line.startswith("VmRSS"))


def start(name: str, messages: int) -> tuple[float, float, float]:
    """Seconds to the first poll, MB idle, MB after so many messages."""
    with tempfile.TemporaryDirectory() as folder, Background(BotApi(limits=Limits.none())) as api:
        people = [api.person(f"P{number}") for number in range(100)]
        place = Path(folder) / "size.db"
        asyncio.run(prepare(place, [person.id for person in people]))
        began = time.perf_counter()
        with running(name, place, api) as process:
            seconds, idle = time.perf_counter() - began, resident(process)
            _crowd(api, people, messages)
            return seconds, idle, resident(process)


async def update_seconds(owners: int, updates: int) -> tuple[float, float]:
    """Seconds of one update from arrival to outbox among so many owners, and the file's MB."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "size.db"
        store = SqliteStore(path)
        await store.open()
        await store.put_dealer(DEALER)
        person = person_row(ADA.model_copy(update={"dealer": DEALER.key}))
        with closing(sqlite3.connect(path)) as conn, conn:
            conn.execute(NUMBERS, {"count": owners})
            conn.execute(PEOPLE, person)
            conn.execute(TUBS, {"dealer": DEALER.key, "body": f'{{"key": "t0", "dealer": "{DEALER.key}"}}'})
            conn.execute(LINKS, {"dealer": DEALER.key})
        began = time.perf_counter()
        for number in range(updates):
            at = f"c{number * 7919 % owners}"
            await store.receive(wrote(str(number), at=at, dealer=DEALER.key))
            taken = await store.take(NOON)
            if taken is None:
                raise AssertionError("what was received cannot be taken")
            who = f"p{at[1:]}"
            told = entry(str(number), tub=None, person=who).model_copy(update={"dealer": DEALER.key})
            outcome = Outcome(entries=(told,), messages=(message("an answer", to=who, address=chat(at)),))
            await store.settle(taken, await store.known(taken.arrival), outcome, NOON)
        seconds = (time.perf_counter() - began) / updates
        await store.close()
        return seconds, path.stat().st_size / 1e6


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.size")
    parser.add_argument("--owners", type=int, nargs="+", default=[100, 10_000, 1_000_000])
    parser.add_argument("--updates", type=int, default=500)
    parser.add_argument("--messages", type=int, default=500)
    options = parser.parse_args()
    print(f"{'program':>8} {'first poll s':>13} {'MB idle':>8} {'MB loaded':>10}")
    for name in PROGRAMS:
        seconds, idle, loaded = start(name, options.messages)
        print(f"{name:>8} {seconds:>13.2f} {idle:>8.0f} {loaded:>10.0f}", flush=True)
    print(f"{'owners':>10} {'update':>10} {'ratio':>6} {'file MB':>8}")
    first = 0.0
    for owners in options.owners:
        seconds, size = asyncio.run(update_seconds(owners, options.updates))
        first = first or seconds
        print(f"{owners:>10,} {seconds * 1e3:>7.2f} ms {seconds / first:>6.2f} {size:>8.1f}", flush=True)


if __name__ == "__main__":
    main()
