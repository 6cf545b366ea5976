import asyncio
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

import pytest

from bot.model.event import Arrival
from bot.model.known import Known, Outcome
from bot.run.clock import VirtualClock
from bot.run.engine import DEATHS, Engine
from bot.store.sqlite import SqliteStore
from tests.run.scenes import a_store, echo, sorry
from tests.store.contract.rooms import texts
from tests.store.samples import NOON, later, message, wrote

WORDS = "my back door key is under the blue pot"


def fail(known: Known, arrival: Arrival, now: datetime) -> Outcome:
    raise ValueError(WORDS)


async def keep(store: SqliteStore, *said: tuple[str, str]) -> None:
    """Put (chat, text) in the inbox, in order."""
    for number, (at, text) in enumerate(said):
        await store.receive(wrote(str(number), text, at=at))


async def test_what_arrives_is_answered_in_its_chat_s_order(store: SqliteStore):
    await keep(store, ("1", "a"), ("2", "b"), ("1", "c"))
    assert await Engine(store, echo, sorry).run_until_idle(NOON) == 3
    assert await texts(store) == ["a (1)", "b (1)", "c (2)"]


async def test_nothing_to_do_is_nothing_done(store: SqliteStore):
    assert await Engine(store, echo, sorry).run_until_idle(NOON) == 0


async def test_what_fails_is_tried_three_times_then_parked_with_one_line_to_its_sender(
    store: SqliteStore, caplog: pytest.LogCaptureFixture
):
    await keep(store, ("1", WORDS))
    tries = []

    def count(known: Known, arrival: Arrival, now: datetime) -> Outcome:
        tries.append(arrival.update)
        return fail(known, arrival, now)

    await Engine(store, count, sorry).run_until_idle(NOON)
    assert tries == ["0", "0", "0"]
    assert await texts(store) == ["sorry"]
    assert await store.take(later(days=1)) is None
    assert "ValueError at test_engine.py" in caplog.text
    assert WORDS not in caplog.text


async def test_a_failure_does_not_keep_the_chat_s_next_message_from_its_answer(store: SqliteStore):
    await keep(store, ("1", "bad"), ("1", "good"), ("2", "other"))

    def step(known: Known, arrival: Arrival, now: datetime) -> Outcome:
        return fail(known, arrival, now) if arrival.update == "0" else echo(known, arrival, now)

    await Engine(store, step, sorry).run_until_idle(NOON)
    assert sorted(await texts(store)) == ["good (1)", "other (1)", "sorry"]


async def test_an_outcome_that_contradicts_the_store_is_a_failure_like_any_other(store: SqliteStore):
    await keep(store, ("1", "x"))

    def step(known: Known, arrival: Arrival, now: datetime) -> Outcome:
        return Outcome(messages=(message("x", to="nobody"),))

    await Engine(store, step, sorry).run_until_idle(NOON)
    assert await texts(store) == ["sorry"]


async def test_an_apology_that_fails_too_leaves_the_arrival_parked(store: SqliteStore):
    await keep(store, ("1", "x"))

    def no_words(known: Known) -> Outcome:
        raise LookupError(WORDS)

    await Engine(store, fail, no_words).run_until_idle(NOON)
    assert await texts(store) == []
    assert await store.take(later(days=1)) is None


async def test_what_changed_meanwhile_is_read_and_decided_again(store: SqliteStore, tmp_path: Path):
    await keep(store, ("1", "x"))
    seen = []

    def step(known: Known, arrival: Arrival, now: datetime) -> Outcome:
        seen.append(len(known.journal))
        if len(seen) == 1:
            write_beside(tmp_path, "import")
        return echo(known, arrival, now)

    await Engine(store, step, sorry).run_until_idle(NOON)
    assert seen == [0, 1]
    assert await texts(store) == ["x (1)"]


async def test_what_never_stops_changing_is_given_up_in_the_end(store: SqliteStore, tmp_path: Path):
    await keep(store, ("1", "x"))
    seen = []

    def step(known: Known, arrival: Arrival, now: datetime) -> Outcome:
        seen.append(1)
        write_beside(tmp_path, str(len(seen)))
        return echo(known, arrival, now)

    await Engine(store, step, sorry).run_until_idle(NOON)
    assert await texts(store) == ["sorry"]


async def test_an_arrival_taken_by_somebody_else_meanwhile_is_left_to_them(store: SqliteStore, tmp_path: Path):
    await keep(store, ("1", "x"))

    def step(known: Known, arrival: Arrival, now: datetime) -> Outcome:
        run_beside(tmp_path, "UPDATE inbox SET claims = claims + 1, leased_until = 1 << 50")
        return echo(known, arrival, now)

    await Engine(store, step, sorry).run_until_idle(NOON)
    assert await texts(store) == []


async def test_an_arrival_over_which_process_after_process_dies_is_parked(store: SqliteStore):
    await keep(store, ("1", "x"), ("1", "y"))
    for _ in range(DEATHS):
        await store.take(NOON)
        await store.take_over()
    await Engine(store, echo, sorry).run_until_idle(NOON)
    assert await texts(store) == ["sorry", "y (1)"]


async def test_it_wakes_on_an_arrival_and_ends_when_asked(store: SqliteStore):
    clock, stop, settled = VirtualClock(NOON), asyncio.Event(), asyncio.Event()
    engine = Engine(store, echo, sorry, workers=3, on_settled=settled.set)
    running = asyncio.create_task(engine.run_forever(clock, stop))
    for number in range(3):
        await asyncio.sleep(0)
        assert await engine.receive(wrote(str(number), f"hello {number}"))
        await settled.wait()
        settled.clear()
    stop.set()
    engine.bell.ring()
    engine.bell.ring()
    async with asyncio.timeout(20):
        await running
    assert await texts(store) == ["hello 0 (1)", "hello 1 (2)", "hello 2 (3)"]


async def test_only_who_has_waited_is_shown_that_an_answer_is_coming(store: SqliteStore):
    shown: list[str] = []

    async def show(arrival: Arrival) -> None:
        shown.append(arrival.address.chat)

    clock, stop, settled = VirtualClock(later(seconds=10)), asyncio.Event(), asyncio.Semaphore(0)
    engine = Engine(store, echo, sorry, busy=show, on_settled=settled.release)
    await store.receive(wrote("1", "hello", at="1", moment=NOON))
    await store.receive(wrote("2", "hello", at="2", moment=clock.now()))
    running = asyncio.create_task(engine.run_forever(clock, stop))
    await settled.acquire()
    await settled.acquire()
    stop.set()
    engine.bell.ring()
    async with asyncio.timeout(20):
        await running
    assert shown == ["1"]


async def test_showing_that_an_answer_is_coming_holds_up_nobody_and_is_done_for_one_at_a_time(store: SqliteStore):
    asked: list[str] = []

    async def never(arrival: Arrival) -> None:
        asked.append(arrival.address.chat)
        await asyncio.Event().wait()

    clock, stop, settled = VirtualClock(later(seconds=10)), asyncio.Event(), asyncio.Semaphore(0)
    engine = Engine(store, echo, sorry, busy=never, on_settled=settled.release)
    await keep(store, ("1", "a"), ("2", "b"), ("3", "c"))
    running = asyncio.create_task(engine.run_forever(clock, stop))
    async with asyncio.timeout(20):
        for _ in range(3):
            await settled.acquire()
        stop.set()
        engine.bell.ring()
        await running
    assert asked == ["1"]
    assert sorted(await texts(store)) == ["a (1)", "b (1)", "c (1)"]


async def test_that_an_answer_is_coming_could_not_be_shown_matters_to_nobody(store: SqliteStore):
    async def fails(arrival: Arrival) -> None:
        raise RuntimeError("no")

    clock, stop, settled = VirtualClock(later(seconds=10)), asyncio.Event(), asyncio.Semaphore(0)
    engine = Engine(store, echo, sorry, busy=fails, on_settled=settled.release)
    await keep(store, ("1", "a"), ("2", "b"))
    running = asyncio.create_task(engine.run_forever(clock, stop))
    async with asyncio.timeout(20):
        await settled.acquire()
        await settled.acquire()
        stop.set()
        engine.bell.ring()
        await running
    assert sorted(await texts(store)) == ["a (1)", "b (1)"]


async def test_while_the_store_does_not_work_it_waits_and_then_goes_on(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
):
    async with a_store(tmp_path, patience=0) as store:
        clock, stop, settled = VirtualClock(NOON), asyncio.Event(), asyncio.Event()
        engine = Engine(store, echo, sorry, on_settled=settled.set)
        await keep(store, ("1", "x"))
        with closing(sqlite3.connect(tmp_path / "brimful.db", isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            running = asyncio.create_task(engine.run_forever(clock, stop))
            for _ in range(20):
                await asyncio.sleep(0)
            assert "the store does not work" in caplog.text
            other.execute("ROLLBACK")
        engine.bell.ring()
        await settled.wait()
        stop.set()
        engine.bell.ring()
        await running
        assert await texts(store) == ["x (1)"]


@pytest.mark.parametrize("workers", [0, 65])
def test_a_number_of_workers_that_makes_no_sense_is_refused(workers: int, tmp_path: Path):
    with pytest.raises(ValueError, match="choose 1 to 64"):
        Engine(SqliteStore(tmp_path / "x.db"), echo, sorry, workers=workers)


def write_beside(folder: Path, key: str) -> None:
    """Let another program write in Ada's journal."""
    run_beside(
        folder,
        "INSERT INTO journal (dealer, key, tub, person, at, via, kind, body) "
        f"VALUES ('north', 'beside {key}', 'cedar', NULL, 0, 'import', 'fill', '{{\"kind\": \"fill\"}}')",
    )


def run_beside(folder: Path, sql: str) -> None:
    with closing(sqlite3.connect(folder / "brimful.db")) as conn, conn:
        conn.execute(sql)
