"""How many updates are answered in a second through HTTP, beside the same library's bare echo bot in the same run.

`python -m tests.bench.updates` prints a table. The Bot API double runs in this process, each bot in one of its own:
`echo` is the library's own application with one handler and nothing kept; `kept` is our whole machinery (inbox,
engine, outbox, channel, SQLite with full durability) around a conversation of one line; `help` is the product's own
answer to "help".

Two cores that others shared unseen (echo alone ran from 211 to 579 a second), library 22.8, `--rounds 1`, three runs:
with 100 chats kept answers 67 to 70 % of what echo does, help 59 to 68 %, p50 3.5 to 12 and 12 to 15 ms beside 5; with
one chat kept 30 to 54 %, help 38 to 77 %; with 10,000 chats (`--messages 2000`) 41 and 34 %, p50 7.1 and 8.4 ms beside
2.5. In one chat nothing can be committed together, and kept reads a journal that grows with every message.

Where the time of 1,200 messages of 100 chats goes (cProfile of help, before its last change): 22 % in some 43
statements of SQLite a message, the wait for the disk among them; 9 % in the library's reading of updates and of its own
answers, half of it of answers, of which it now gets only where they ended; 8 % in the socket, 7 % in the HTTP client,
2 % in the validation of what is known; the rest is spread over hundreds of functions. What brought most: aiohttp in
place of the library's own client, one commit for what is wanted at one moment, an update read once, and an answer that
is taken up for sending in the commit that decides it (one wait for the disk of three).
"""

import argparse
import asyncio
import math
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from telegram import Update
from telegram.ext import Application, ContextTypes, MessageHandler, filters

from bot.app import build_house, open_store
from bot.channels.telegram import TelegramChannel
from bot.run.clock import WallClock
from bot.run.house import House
from bot.run.pace import Pace
from bot.run.seat import Seat
from bot.run.signals import stop_on_signals
from tests.botapi import Background, BotApi, Limits
from tests.botapi.people import Person
from tests.kill.program import DEALER, count, prepare, sorry

ROOT = Path(__file__).parents[2]
PROGRAMS = ("echo", "kept", "help")
FAST = Pace(per_second=math.inf, chat_seconds=lambda _: 0.0)
START_SECONDS = 120.0
END_SECONDS = 600.0
WARM = 20
AT_ONCE = 40
"""Messages of one person that wait together; beyond fifty they would be answered as one."""


def echo(url: str, token: str) -> None:
    """The library's bare echo bot."""

    async def answer(update: Update, _: ContextTypes.DEFAULT_TYPE) -> None:
        if update.message is not None:
            await update.message.reply_text(update.message.text or "")

    application = Application.builder().token(token).base_url(f"{url}/bot").build()
    application.add_handler(MessageHandler(filters.TEXT, answer))
    application.run_polling()


async def ours(name: str, place: str, url: str, token: str) -> None:
    """Our machinery without a pace, around one line or around the product's conversations."""
    store = open_store(place)
    seat = Seat(TelegramChannel(token, DEALER.key, now=WallClock().now, api_url=url), DEALER.key, FAST)
    house = House(store, [seat], count, sorry, workers=8) if name == "kept" else build_house(store, [seat], workers=8)
    with stop_on_signals() as stop:
        await house.serve(WallClock(), stop)


@contextmanager
def running(name: str, place: Path, api: BotApi) -> Iterator[int]:
    """A bot in a process of its own, once it polls; its process id."""
    words = [sys.executable, "-m", "tests.bench.updates", "--program", name, str(place), api.url, api.token]
    process = subprocess.Popen(words, cwd=ROOT, stderr=subprocess.DEVNULL)
    try:
        api.wait(lambda: api.updates.poll > 0, START_SECONDS)
        yield process.pid
    finally:
        process.terminate()
        process.wait(timeout=60)


def measure(name: str, chats: int, messages: int, alone: int) -> dict[str, float]:
    """Updates a second of a crowd that writes at once, and the seconds one person waits who writes alone."""
    with tempfile.TemporaryDirectory() as folder, Background(BotApi(limits=Limits.none())) as api:
        people = [api.person(f"P{number}") for number in range(chats)]
        place = Path(folder) / "bench.db"
        if name != "echo":
            asyncio.run(prepare(place, [person.id for person in people]))
        with running(name, place, api):
            _crowd(api, people, WARM)
            rate = messages / _crowd(api, people, messages)
            waits = sorted(_crowd(api, people[:1], 1) for _ in range(alone))
        return {"rate": rate, "p50": statistics.median(waits), "p95": waits[int(len(waits) * 0.95)]}


def _crowd(api: BotApi, people: list[Person], messages: int) -> float:
    """Let people write so many messages, at once but for what would be a flood; the seconds until all are answered."""
    before, began = len(api.ledger.sent), time.perf_counter()
    wave = AT_ONCE * len(people)
    for first in range(0, messages, wave):
        for number in range(first, min(first + wave, messages)):
            people[number % len(people)].writes("help")
        api.wait(lambda due=before + number + 1: len(api.ledger.sent) >= due, END_SECONDS)
    return time.perf_counter() - began


def table(chats: list[int], messages: int, alone: int, rounds: int) -> None:
    """Print it; programs take turns, so that what else the machine does strikes all of them alike."""
    print(f"{'chats':>7} {'program':>8} {'a second':>9} {'of echo':>8} {'p50 ms':>7} {'p95 ms':>7}")
    for number in chats:
        found: dict[str, list[dict[str, float]]] = {name: [] for name in PROGRAMS}
        for _ in range(rounds):
            for name in PROGRAMS:
                found[name].append(measure(name, number, messages, alone))
        best = {name: max(one["rate"] for one in found[name]) for name in PROGRAMS}
        for name in PROGRAMS:
            p50, p95 = (min(one[what] for one in found[name]) * 1e3 for what in ("p50", "p95"))
            share = best[name] / best["echo"]
            print(f"{number:>7,} {name:>8} {best[name]:>9.0f} {share:>8.0%} {p50:>7.1f} {p95:>7.1f}", flush=True)


def main() -> None:
    """Print the table, or be one of its programs."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.updates")
    parser.add_argument("--program", nargs=4, metavar=("NAME", "DATABASE", "URL", "TOKEN"), help=argparse.SUPPRESS)
    parser.add_argument("--chats", type=int, nargs="+", default=[1, 100, 10_000])
    parser.add_argument("--messages", type=int, default=1_000)
    parser.add_argument("--alone", type=int, default=60)
    parser.add_argument("--rounds", type=int, default=2)
    options: Any = parser.parse_args()
    if options.program is None:
        table(options.chats, options.messages, options.alone, options.rounds)
    elif options.program[0] == "echo":
        echo(*options.program[2:])
    else:
        asyncio.run(ours(*options.program))


if __name__ == "__main__":
    main()
