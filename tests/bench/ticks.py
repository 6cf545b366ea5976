"""What a tick costs: 100 reminders due among few or many. `python -m tests.bench.ticks` prints a table.

Beside it the usual way, one scheduler job for each reminder, held in memory (its cheapest store).
"""

import argparse
import asyncio
import sqlite3
import statistics
import tempfile
import time
from contextlib import closing
from datetime import timedelta
from pathlib import Path

from apscheduler.schedulers.asyncio import AsyncIOScheduler

from bot.store.sql.records import to_ms
from bot.store.sqlite import SqliteStore
from tests.store.samples import ADA, CEDAR, NOON, NORTH

DUE = 100
FILL = """
WITH RECURSIVE n (i) AS (VALUES (0) UNION ALL SELECT i + 1 FROM n WHERE i + 1 < :count)
INSERT INTO dues (dealer, key, kind, what, person, tub, at)
SELECT 'north', 'd' || i, 'reminder', 'test', 'ada', 'cedar', :start + i * 1000 FROM n
"""


async def filled(path: Path, count: int) -> SqliteStore:
    """A store in which one reminder falls due each second from noon on."""
    store = SqliteStore(path)
    await store.open()
    await store.put_dealer(NORTH)
    await store.put("north", [ADA], [CEDAR], [("ada", "cedar")])
    with closing(sqlite3.connect(path)) as conn, conn:
        conn.execute(FILL, {"count": count, "start": to_ms(NOON)})
    await store.tidy(NOON)
    return store


async def tick_seconds(count: int, ticks: int = 9) -> tuple[float, float]:
    """Median seconds of a tick that finds 100 due, and of one that finds none, among `count` reminders."""
    with tempfile.TemporaryDirectory() as folder:
        store = await filled(Path(folder) / "bench.db", count)
        busy, idle = [], []
        for tick in range(ticks):
            now = NOON + timedelta(seconds=DUE * tick + DUE - 1)
            began = time.perf_counter()
            ripe = await store.ripen(now)
            busy.append(time.perf_counter() - began)
            if ripe != DUE:
                raise AssertionError(f"{ripe} reminders were due instead of {DUE}")
            began = time.perf_counter()
            await store.ripen(now)
            idle.append(time.perf_counter() - began)
        await store.close()
    return statistics.median(busy), statistics.median(idle)


async def job_seconds(count: int) -> float:
    """Seconds to give a scheduler as many jobs."""
    scheduler = AsyncIOScheduler(timezone="UTC")
    scheduler.start(paused=True)
    began = time.perf_counter()
    for number in range(count):
        scheduler.add_job(print, "date", run_date=NOON + timedelta(days=3650, seconds=number))
    taken = time.perf_counter() - began
    scheduler.shutdown(wait=False)
    return taken


async def main(counts: list[int], jobs: int) -> None:
    """Print the table."""
    print(f"{'reminders':>10} {'tick, 100 due':>14} {'ratio':>6} {'tick, none due':>15}")
    first = 0.0
    for count in counts:
        busy, idle = await tick_seconds(count)
        first = first or busy
        print(f"{count:>10,} {busy * 1e3:>11.2f} ms {busy / first:>6.2f} {idle * 1e6:>12.0f} us")
    print(f"one scheduler job each: {jobs:,} take {await job_seconds(jobs) / first:,.0f} such ticks to add")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(prog="python -m tests.bench.ticks")
    parser.add_argument("--counts", type=int, nargs="+", default=[1_000, 100_000, 1_000_000])
    parser.add_argument("--jobs", type=int, default=3_000)
    options = parser.parse_args()
    asyncio.run(main(options.counts, options.jobs))
