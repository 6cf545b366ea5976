"""How many updates services on one PostgreSQL work off in a second. `python -m tests.bench.replicas` prints a table.

Each service is a process with the real engine and the product's conversations; the inbox is filled beforehand, so the
channel is not what is measured. On a machine with few cores the database takes its share of them.
"""

import argparse
import asyncio
import multiprocessing
import os
import time

from bot.run.engine import Engine
from bot.store.postgres import PostgresStore
from bot.talk.step import apologise, step
from tests.kill.program import DEALER, prepare
from tests.store.samples import NOON, wrote
from tests.store.server import Rooms, running_server


async def fill(dsn: str, chats: int, updates: int, start: int) -> None:
    """People with tubs, each with as many messages waiting as the others."""
    store = PostgresStore(dsn)
    await store.open()
    for number in range(updates):
        text = "my tub" if number % 2 else "help"
        await store.receive(wrote(f"{start}.{number}", text, at=str(number % chats), dealer=DEALER.key))
    await store.close()


async def work(dsn: str, now: float) -> int:
    """Work off what waits, several chats side by side."""
    store = PostgresStore(dsn, size=4)
    await store.open()
    engine = Engine(store, step, apologise)
    handled = await asyncio.gather(*(engine.run_until_idle(NOON) for _ in range(4)))
    await store.close()
    return sum(handled) if now else 0


def serve(dsn: str, gate: "multiprocessing.synchronize.Barrier", done: "multiprocessing.Queue[int]") -> None:
    """One service: ready, then all at once."""
    gate.wait()
    done.put(asyncio.run(work(dsn, time.time())))


def seconds(dsn: str, services: int) -> float:
    """Seconds until the inbox is empty."""
    context = multiprocessing.get_context("fork")
    gate, done = context.Barrier(services + 1), context.Queue()
    processes = [context.Process(target=serve, args=(dsn, gate, done)) for _ in range(services)]
    for process in processes:
        process.start()
    gate.wait()
    began = time.perf_counter()
    for process in processes:
        process.join()
    return time.perf_counter() - began


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.replicas")
    parser.add_argument("--services", type=int, nargs="+", default=[1, 2, 3, 4])
    parser.add_argument("--updates", type=int, default=1_000)
    parser.add_argument("--chats", type=int, default=200)
    options = parser.parse_args()
    with running_server() as server:
        dsn = Rooms(server.dsn).dsn
        asyncio.run(prepare(dsn, list(range(options.chats))))
        print(f"{'services':>8} {'a second':>9} {'of one':>7}   ({os.cpu_count()} cores, the server's share included)")
        one = 0.0
        for turn, services in enumerate(options.services):
            asyncio.run(fill(dsn, options.chats, options.updates, turn))
            rate = options.updates / seconds(dsn, services)
            one = one or rate
            print(f"{services:>8} {rate:>9.0f} {rate / one:>7.2f}", flush=True)


if __name__ == "__main__":
    main()
