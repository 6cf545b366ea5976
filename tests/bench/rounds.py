"""What a round costs: choosing, queueing, sending at its pace, and an owner's answer meanwhile.

`python -m tests.bench.rounds` prints the tables. `choose` and `queue` run on one database of `--owners` owners with
`--entries` journal entries each; `send` runs the product against the Bot API double, whose clock runs `--speed` times
as fast as ours: its limits and our pace are scaled alike.
"""

import argparse
import asyncio
import os
import resource
import sqlite3
import statistics
import tempfile
import time
from contextlib import closing
from datetime import timedelta
from pathlib import Path

from bot.app import build_house
from bot.channels.telegram import TELEGRAM, TelegramChannel
from bot.desk.rounds.choice import choosing, deciding
from bot.desk.rounds.whom import read_whom
from bot.model.dealer import Bulk, Dealer, Quiet
from bot.model.message import Delivered
from bot.model.person import Address, Person
from bot.model.round import Round
from bot.model.tub import Tub
from bot.run.clock import WallClock
from bot.run.pace import Pace
from bot.run.rounds import PAGE, SLICE
from bot.store.sql.records import to_ms
from bot.store.sqlite import SqliteStore
from tests.botapi import Background, BotApi, Limits
from tests.botapi.clock import Clock
from tests.botapi.people import Person as Phone
from tests.store.samples import NOON

HOUSE = Dealer(key="house", name="Tidewell Tubs", quiet=Quiet(start="00:00", end="00:00"), bulk=Bulk(days=0))  # type: ignore[arg-type]
CRITERIA = ("all", "chlorine, lang=en|de", "untested=14", "cartridge=14", "refill=14", "out_of_range")
NUMBERS = "WITH RECURSIVE n (i) AS (VALUES (0) UNION ALL SELECT i + 1 FROM n WHERE i + 1 < :count)"
# One entry of each kind a week apart, so that every criterion has something to look at.
ENTRY = """
INSERT INTO journal (dealer, key, tub, person, at, via, kind, body)
SELECT 'house', 'e' || i || '.' || :number, 't' || i, 'p' || i, :start + (:number * 7 + i % 90) * 86400000, 'x', :kind,
       :body FROM n
"""
BODIES = {
    "fill": '{"kind":"fill","litres":null}',
    "cartridge": '{"kind":"cartridge"}',
    "reading": '{"kind":"reading","values":{"ph":{"low":8.4,"high":8.4,"kind":"value"}},"method":"strip",'
    '"source":false}',
    "soak": '{"kind":"soak","bathers":2,"minutes":30.0}',
    "addition": '{"kind":"addition","product":null,"grams":15.0,"substances":{"sodium_dichlor":15.0},"plan_key":null,'
    '"step":null,"shock":false}',
}
KINDS = ("fill", "cartridge", "reading", "addition", "soak", "reading", "addition", "soak", "addition", "reading")


async def filled(path: Path, owners: int, entries: int) -> SqliteStore:
    """A store with so many owners, a tub each, and so many entries in each journal."""
    store = SqliteStore(path)
    await store.open()
    await store.put_dealer(HOUSE)
    step = 5_000
    for first in range(0, owners, step):
        people = [person(str(number), number) for number in range(first, min(first + step, owners))]
        links = [(one.key, f"t{one.key[1:]}") for one in people]
        await store.put("house", people, [tub_of(one) for one in people], links)
    start = to_ms(NOON - timedelta(days=160))
    with closing(sqlite3.connect(path)) as conn, conn:
        for number in range(entries):
            kind = KINDS[number % len(KINDS)]
            values = {"count": owners, "number": number, "start": start, "kind": kind, "body": BODIES[kind]}
            conn.execute(NUMBERS + ENTRY, values)
    await store.tidy(NOON - timedelta(days=400))
    return store


def person(chat: str, number: int) -> Person:
    language = ("en", "de", "fr", "es")[number % 4]
    address = Address(channel=TELEGRAM, chat=chat)
    return Person(
        key=f"p{number}", dealer="house", name=f"Ada {number}", language=language, address=address, agreed_at=NOON,
        quiet=HOUSE.quiet,
    )  # fmt: skip


def tub_of(owner: Person) -> Tub:
    return Tub(key=f"t{owner.key[1:]}", dealer="house", volume=1300, sanitizer="chlorine", cartridge=True)


def a_round(key: str, whom: str) -> Round:
    return Round(
        key=key, dealer="house", by=None, whom=read_whom(whom), texts={"en": "Hello {name}, all well with {tub}?"},
        made_at=NOON,
    )  # fmt: skip


def megabytes() -> float:
    """What this process holds now."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


async def choose(store: SqliteStore, owners: int, entries: int) -> None:
    """Print how long choosing takes for each criterion, and its longest page, which is how long others wait."""
    print(f"choosing among {owners:,} owners with {owners * entries:,} journal entries, {PAGE} owners a page")
    print(f"{'criteria':<24}{'chosen':>10}{'seconds':>10}{'of CPU':>10}{'longest page, CPU':>20}")
    for number, whom in enumerate(CRITERIA):
        wanted = a_round(f"c{number}", whom)
        await store.put_round(wanted)
        pages, over, started = [], False, time.perf_counter()
        while not over:
            began = time.process_time()
            over = await store.choose_round("house", wanted.key, NOON, PAGE, choosing(wanted, HOUSE, NOON))
            pages.append(time.process_time() - began)
        seconds = time.perf_counter() - started
        view = await store.round_view("house", wanted.key)
        numbers = f"{view.total if view else 0:>10,}{seconds:>10.1f}{sum(pages):>10.1f}{max(pages) * 1e3:>17.0f} ms"
        print(f"{whom:<24}{numbers}", flush=True)


async def queue(store: SqliteStore, owners: int) -> None:
    """Print how long putting a whole round into the outbox takes, and that memory stays as it is."""
    wanted = a_round("q", "all")
    await store.put_round(wanted)
    while not await store.choose_round("house", wanted.key, NOON, PAGE, choosing(wanted, HOUSE, NOON)):
        pass
    await store.order_round("house", wanted.key, "start", NOON)
    memory, slices, started = [megabytes()], [], time.perf_counter()
    while True:
        began = time.process_time()
        swept = await store.sweep_round("house", wanted.key, NOON, SLICE, deciding(wanted, HOUSE, NOON))
        slices.append(time.process_time() - began)
        if not swept.looked:
            break
        if len(slices) % (owners // SLICE // 8) == 0:
            memory.append(megabytes())
    print(f"\nqueueing a round for {owners:,}, {SLICE} in a transaction")
    print(f"{time.perf_counter() - started:.1f} s, {sum(slices):.1f} s of CPU, ", end="")
    print(f"{owners / sum(slices):,.0f} in a second of CPU, longest slice {max(slices) * 1e3:.0f} ms of CPU")
    print(f"memory, MB: {', '.join(f'{one:.0f}' for one in memory)}")
    began, sent, memory = time.perf_counter(), 0, [megabytes()]
    while sent < min(owners, 20_000) and (parcels := await store.next_parcels(TELEGRAM, NOON, 1)):
        await store.delivered(parcels[0], Delivered(reference="1"), NOON)
        sent += 1
        if sent % 4_000 == 0:
            memory.append(megabytes())
    seconds = time.perf_counter() - began
    print(f"taking {sent:,} of them out again: {sent / seconds:,.0f} a second; memory, MB: ", end="")
    print(", ".join(f"{one:.0f}" for one in memory))


async def send(folder: Path, people: int, speed: float, asking: int) -> None:
    """Print the rate at which a round leaves against its pace, and how long owners wait for an answer meanwhile."""
    limits = Limits(chat=(1, 1.0))
    with Background(BotApi(clock=Clock(speed), limits=limits)) as api:
        phones = [api.person(f"P{number}") for number in range(people)]
        for phone in phones:
            phone.starts()
        api.updates.drop_pending()
        store = SqliteStore(folder / "send.db")
        await store.open()
        await store.put_dealer(HOUSE)
        owners = [person(str(phone.id), phone.id) for phone in phones]
        await store.put(
            "house", owners, [tub_of(one) for one in owners], [(one.key, f"t{one.key[1:]}") for one in owners]
        )
        wanted = a_round("s", "all")
        await store.put_round(wanted)
        while not await store.choose_round("house", "s", NOON, PAGE, choosing(wanted, HOUSE, NOON)):
            pass
        channel = TelegramChannel(api.token, "house", now=WallClock().now, api_url=api.url, poll_seconds=5)
        pace = Pace(25 * speed, chat_seconds=lambda _: 1.05 / speed)
        house = build_house(store, {TELEGRAM: channel}, workers=4, paces={TELEGRAM: pace})
        stop = asyncio.Event()
        serving = asyncio.create_task(house.serve(WallClock(), stop))
        await _ask(api, phones[:2])  # what is read once is read now
        before, told, work = len(api.ledger.sent), len(api.ledger.calls), time.process_time()
        await store.order_round("house", "s", "start", WallClock().now())
        waits = await _ask(api, phones[:asking])
        await api.until(lambda: len(api.ledger.sent) >= people + before + len(waits), 600)
        bulk = [sent.at for sent in api.ledger.sent[before:] if "all well" in sent.message.get("text", "")]
        work = (time.process_time() - work) / (len(bulk) + len(waits))
        refused = sum(call.code == 429 for call in api.ledger.calls[told:])
        stop.set()
        await serving
    every = [sent.at for sent in api.ledger.sent[before:]]
    rate = (len(every) - 1) / (every[-1] - every[0])
    print(f"\nsending a round to {people:,} at 25 a second, on a clock {speed:g} times as fast")
    share = f"{rate:.2f} a second ({rate / 25:.1%} of the pace)"
    print(f"sent {len(bulk):,} and {len(waits)} answers, {share}; refused with 429: {refused}")
    print(f"{work * 1e3:.1f} ms of CPU a message, the double's included")
    ordered = sorted(waits)
    print(f"an owner's answer, in our seconds: p50 {statistics.median(ordered):.2f}, ", end="")
    print(f"p95 {ordered[int(len(ordered) * 0.95)]:.2f}, longest {ordered[-1]:.2f}")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3:.0f} MB (with the double)")


async def _ask(api: BotApi, phones: list[Phone]) -> list[float]:
    """Let owners ask for something one after the other; how long each waited."""
    waits = []
    for phone in phones:
        heard = len(phone.texts)
        began = time.perf_counter()
        phone.writes("help")
        await api.until(lambda phone=phone, heard=heard: len(phone.texts) > heard, 30)
        waits.append(time.perf_counter() - began)
        await asyncio.sleep(0.05)
    return waits


async def main(options: argparse.Namespace) -> None:
    """Print the tables that were asked for."""
    with tempfile.TemporaryDirectory() as folder:
        if "choose" in options.what or "queue" in options.what:
            began = time.perf_counter()
            store = await filled(Path(folder) / "rounds.db", options.owners, options.entries)
            print(f"(filled in {time.perf_counter() - began:.0f} s)")
            if "choose" in options.what:
                await choose(store, options.owners, options.entries)
            if "queue" in options.what:
                await queue(store, options.owners)
            await store.close()
        if "send" in options.what:
            await send(Path(folder), options.people, options.speed, options.asking)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(prog="python -m tests.bench.rounds")
    parser.add_argument("what", nargs="*", default=["choose", "queue", "send"])
    parser.add_argument("--owners", type=int, default=100_000)
    parser.add_argument("--entries", type=int, default=10, help="in each journal")
    parser.add_argument("--people", type=int, default=3_000, help="in the round that is sent")
    parser.add_argument("--speed", type=float, default=4.0, help="of the double's clock")
    parser.add_argument("--asking", type=int, default=100, help="owners who ask for something meanwhile")
    asyncio.run(main(parser.parse_args()))
