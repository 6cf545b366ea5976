"""A dealer's morning: who needs somebody among many owners, and the forecast of every tub.

`python -m tests.bench.morning` prints, for few and many owners, seconds of processor time, cold and warm, what one
owner costs beside the few, and the longest time in which nobody else was answered. The forecasts of all tubs at once
are set against one tub after another.
"""

import argparse
import asyncio
import tempfile
import time
from pathlib import Path

from bot.app import settle
from bot.run.roll import who_needs
from bot.store.sqlite import SqliteStore
from dosing import Addition, Past, Reading, Refill, Said, Soak
from dosing.season import Fleet, Tub, look
from tests.bench.rounds import HOUSE, filled, megabytes
from tests.store.samples import NOON

BEAT = 0.001


async def longest_hold(stop: asyncio.Event) -> float:
    """The longest time that the loop kept a sleeper of a thousandth of a second waiting, in seconds."""
    longest = 0.0
    while not stop.is_set():
        began = time.perf_counter()
        await asyncio.sleep(BEAT)
        longest = max(longest, time.perf_counter() - began - BEAT)
    return longest


async def listed(store: SqliteStore) -> tuple[int, float, float]:
    """How many need somebody, seconds of CPU, and the longest hold."""
    stop, began = asyncio.Event(), time.process_time()
    hold = asyncio.create_task(longest_hold(stop))
    await asyncio.sleep(BEAT)
    found = await who_needs(store, HOUSE, NOON)
    seconds = time.process_time() - began
    stop.set()
    return len(found), seconds, await hold


async def attention(counts: list[int], entries: int) -> None:
    """Print the table of lists."""
    print(f"{'owners':>8} {'state':>6} {'listed':>8} {'CPU s':>7} {'an owner':>10} {'ratio':>6} {'hold':>8} {'MB':>6}")
    least = 0.0
    for count in counts:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "morning.db"
            await (await filled(path, count, entries)).close()
            store = SqliteStore(path)
            await store.open()
            for state in ("cold", "warm"):
                found, seconds, hold = await listed(store)
                one = seconds / count
                least = least or one
                print(
                    f"{count:>8,} {state:>6} {found:>8,} {seconds:>7.2f} {one * 1e3:>7.2f} ms {one / least:>6.2f} "
                    f"{hold * 1e3:>5.0f} ms {megabytes():>6.0f}",
                    flush=True,
                )
            await store.close()


def forecasts(count: int, times: int) -> None:
    """Print what a forecast of a week costs for each of many tubs at once, beside one tub after another."""
    tubs, histories = zip(*(a_tub(number) for number in range(count)), strict=True)
    hours = [24.0 * day for day in range(8)]
    began = time.process_time()
    ahead = Fleet.of(tubs, histories).forecast(hours)
    together = (time.process_time() - began) / count
    if ahead.likely["ph"].shape != (count, len(hours)):
        raise AssertionError("not every tub has its forecast")
    began = time.process_time()
    for tub, history in zip(tubs[:times], histories, strict=False):
        look(tub, history).forecast(hours)
    alone = (time.process_time() - began) / times
    print(
        f"\nforecast of {count:,} tubs at once: {together * count:.1f} s of CPU, {together * 1e3:.3f} ms a tub; "
        f"one after another {alone * 1e3:.2f} ms: {alone / together:.0f} : 1"
    )


def a_tub(number: int) -> tuple[Tub, list[Past]]:
    """A tub of its own habits with six tests, five doses and five soaks in five weeks."""
    tub = Tub(volume=900.0 + number % 600, sanitizer="chlorine")
    history: list[Past] = [Refill(litres=None, hours_ago=36 * 24.0)]
    for week in range(5, -1, -1):
        noon = week * 7 * 24.0
        read = {key: Said.value(said) for key, said in {"ph": 7.4, "ta": 80.0, "fc": 2.0 + number % 3}.items()}
        history.append(Reading(values=read, hours_ago=noon))
        if week:
            history.append(Addition({"sodium_dichlor": 8.0 + number % 9}, hours_ago=noon - 1.0))
            history.append(Soak(bathers=2, minutes=30.0, hours_ago=noon - 30.0))
    return tub, history


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.morning")
    parser.add_argument("--owners", type=int, nargs="+", default=[1_000, 50_000])
    parser.add_argument("--entries", type=int, default=20)
    parser.add_argument("--alone", type=int, default=100)
    options = parser.parse_args()
    settle()
    asyncio.run(attention(options.owners, options.entries))
    forecasts(max(options.owners), options.alone)


if __name__ == "__main__":
    main()
