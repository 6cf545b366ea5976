import asyncio
import os
import signal
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from datetime import timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from bot.model.known import Outcome
from bot.model.message import Delivered, Parcel, Refusal
from bot.run.clock import VirtualClock, WallClock
from bot.run.house import House
from bot.run.signals import stop_on_signals
from bot.run.verdict import REPEATED
from bot.store.contract import StoreBroken
from bot.store.sqlite import SqliteStore
from tests.run.scenes import Line, a_store, answers, echo, sorry
from tests.run.test_post import NO_LIMIT, Gate
from tests.store.contract.rooms import settle
from tests.store.samples import CHANNEL, NOON, due, later, message, wrote


def house(store: SqliteStore, line: Line, **settings: object) -> House:
    return House(store, {CHANNEL: line}, echo, sorry, paces=NO_LIMIT, **settings)  # type: ignore[arg-type]


async def test_all_that_can_be_done_now_is_done_and_no_more(store: SqliteStore):
    line = Line()
    home = house(store, line)
    await home.engine.receive(wrote("1", "in 3h rinse"))
    await home.settle_down(NOON)
    assert line.texts == ["in 3h rinse (1)"]


async def test_on_a_virtual_clock_everything_happens_in_its_order_at_its_own_time(store: SqliteStore):
    line, clock = Line(), VirtualClock(NOON)
    home = house(store, line)
    times: list[tuple[str, float]] = []

    async def note(parcel: Parcel) -> Delivered | Refusal:
        times.append((parcel.message.text, (clock.now() - NOON) / timedelta(hours=1)))
        return Delivered()

    line.answer = note
    for number, text in enumerate(("in 5h soak", "in 3h rinse", "in 7h test", "in 4h note")):
        await home.engine.receive(wrote(str(number), text, at=str(1 + number % 2)))
    await home.pass_time(clock, later(hours=6))
    assert [(text.split(" (")[0], hours) for text, hours in times[4:]] == [
        ("time to rinse", 3),
        ("time to note", 4),
        ("time to soak", 5),
    ]
    assert clock.now() == later(hours=6)
    await home.pass_time(clock, later(hours=12))
    assert len(times) == 8


async def test_time_that_passes_brings_what_was_held_back(store: SqliteStore):
    line, clock = Line(answers(Refusal(kind="later", why="too fast", seconds=40))), VirtualClock(NOON)
    home = house(store, line)
    await home.engine.receive(wrote("1", "hello"))
    await home.pass_time(clock, later(seconds=39))
    assert line.texts == ["hello (1)"]
    await home.pass_time(clock, later(seconds=40))
    assert line.texts == ["hello (1)", "hello (1)"]


async def test_after_a_day_down_what_was_due_comes_late_and_once(store: SqliteStore):
    await settle(store, "1", Outcome(set_dues=(due("a", later(hours=1), what="rinse"),)))
    line = Line()
    await house(store, line).pass_time(VirtualClock(later(days=1)), later(days=2))
    assert line.texts == ["time to rinse (1)"]


Serving = tuple[Line, asyncio.Event, "asyncio.Task[None]"]


@asynccontextmanager
async def serving(folder: Path, line: Line, **how: float) -> AsyncIterator[Serving]:
    stop = asyncio.Event()
    home = house(SqliteStore(folder / "brimful.db"), line)
    running = asyncio.create_task(home.serve(WallClock(), stop, **how))
    started = asyncio.create_task(line.started.wait())
    await asyncio.wait({running, started}, return_when=asyncio.FIRST_COMPLETED)
    started.cancel()
    yield line, stop, running
    stop.set()
    await running


async def say(line: Line, update: str, text: str) -> None:
    assert line.receive is not None
    await line.receive(wrote(update, text))


@pytest.fixture
async def folder(tmp_path: Path) -> Path:
    async with a_store(tmp_path):
        pass
    return tmp_path


async def test_a_service_answers_until_it_is_stopped_and_goes_on_after_a_restart(folder: Path):
    for round_ in (1, 2):
        async with serving(folder, Line()) as (line, _, _):
            await say(line, str(round_), "hello")
            await line.has_sent(1)
            assert line.texts == [f"hello ({round_})"]
        assert line.receive is None


async def test_what_came_while_nobody_served_is_answered_at_the_start(folder: Path):
    async with a_store(folder) as store:
        await store.receive(wrote("1", "hello"))
        await settle_dues(store)
    async with serving(folder, Line()) as (line, _, _):
        await line.has_sent(2)
    assert sorted(line.texts) == ["hello (1)", "time to rinse (1)"]


async def settle_dues(store: SqliteStore) -> None:
    taken = await store.take(NOON)
    assert taken is not None
    overdue = due("a", later(days=-999), person="bo", tub="birch", what="rinse")
    await store.give_up(taken, "later", NOON, final=False)
    await settle_other(store, Outcome(set_dues=(overdue,)))


async def settle_other(store: SqliteStore, outcome: Outcome) -> None:
    await store.receive(wrote("other", at="99"))
    first = await store.take(NOON)
    other = await store.take(NOON)
    assert first is not None
    assert other is not None
    await store.settle(other, await store.known(other.arrival), outcome, NOON)


async def test_a_sending_that_does_not_end_in_time_is_repeated_by_the_next_start(folder: Path):
    async with serving(folder, Line(Gate()), stop_seconds=0.01) as (line, _, _):
        await say(line, "1", "hello")
        await line.has_sent(1)
    async with serving(folder, Line()) as (line, _, _):
        await line.has_sent(1)
        assert line.texts == [f"{REPEATED}hello (1)"]


async def test_two_services_on_one_database_are_one_too_many(folder: Path):
    async with serving(folder, Line()):
        second = house(SqliteStore(folder / "brimful.db"), Line())
        with pytest.raises(StoreBroken, match="another Brimful is running"):
            await second.serve(WallClock(), asyncio.Event())


async def test_a_channel_that_cannot_start_ends_the_service_with_its_error(folder: Path):
    class Mute(Line):
        async def start(self, receive: Callable[..., Awaitable[bool]]) -> None:
            raise ConnectionError("no network")

    home = house(SqliteStore(folder / "brimful.db"), Mute())
    with pytest.raises(ExceptionGroup) as caught:
        await home.serve(WallClock(), asyncio.Event())
    assert caught.group_contains(ConnectionError)
    async with serving(folder, Line()):  # nothing is left locked
        pass


async def test_it_can_be_stopped_while_a_channel_still_tries_to_open(folder: Path):
    class Far(Line):
        stopped = False

        async def start(self, receive: Callable[..., Awaitable[bool]]) -> None:
            self.started.set()
            await asyncio.Event().wait()

        async def stop(self) -> None:
            self.stopped = True

    async with asyncio.timeout(20), serving(folder, Far()) as (line, _, _):
        pass
    assert isinstance(line, Far)
    assert line.stopped


async def test_nothing_is_sent_before_its_channel_is_open(folder: Path):
    class Slow(Line):
        async def start(self, receive: Callable[..., Awaitable[bool]]) -> None:
            await super().start(receive)
            for _ in range(50):
                await asyncio.sleep(0)
            assert self.sent == []

    async with a_store(folder) as store:
        await settle(store, "1", Outcome(messages=(message("hello"),)))
    async with serving(folder, Slow()) as (line, _, _):
        await line.has_sent(1)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
async def test_a_signal_asks_to_stop(number: signal.Signals):
    before = signal.getsignal(number)
    with stop_on_signals() as stop:
        assert not stop.is_set()
        os.kill(os.getpid(), number)
        await stop.wait()
    assert signal.getsignal(number) == before


async def test_an_answer_is_taken_up_for_sending_in_the_commit_that_decides_it(folder: Path):
    store, line, stop, said = SqliteStore(folder / "brimful.db"), Line(), asyncio.Event(), list[str]()
    running = asyncio.create_task(house(store, line).serve(WallClock(), stop))
    await line.started.wait()
    store._file.db.conn.set_trace_callback(said.append)
    for number in range(9):
        await say(line, f"{number}", "hello")
        await line.has_sent(number + 1)
    stop.set()
    await running
    ends = [place for place, words in enumerate(said) if words == "COMMIT"]
    together = [
        "INSERT INTO outbox" in words and "SET doubts = doubts" in words
        for words in ("\n".join(said[first:last]) for first, last in pairwise([0, *ends]))
        if "INSERT INTO outbox" in words
    ]
    assert together == [True] * 9
