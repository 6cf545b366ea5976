import asyncio
from datetime import timedelta
from pathlib import Path

from bot.model.dealer import Keep
from bot.model.fact import Noted
from bot.model.known import Outcome
from bot.run.clock import VirtualClock
from bot.run.ticker import Ticker
from bot.store.sqlite import SqliteStore
from tests.store.contract.rooms import settle
from tests.store.samples import NOON, NORTH, due, entry, later


async def test_a_tick_moves_all_that_is_due_however_much(store: SqliteStore):
    await settle(store, "1", Outcome(set_dues=tuple(due(f"d{n}", later(seconds=-n)) for n in range(1203))))
    rung = []
    assert await Ticker(store, on_ripe=lambda: rung.append(1)).tick(NOON) == 1203
    assert len(rung) == 3
    assert await Ticker(store).tick(NOON) == 0


async def test_what_a_dealer_keeps_no_longer_is_forgotten_by_their_own_days_however_much_it_is(store: SqliteStore):
    notes = [entry(f"n{number}", Noted(text="x")) for number in range(1203)]
    await store.write(notes)
    ticker = Ticker(store)
    assert await ticker.tidy(later(days=730)) == 0
    await store.put_dealer(NORTH.model_copy(update={"keep": Keep(words=40)}))
    assert await ticker.tidy(later(days=41)) == 1203
    assert await store.journal("north") == []


async def test_it_ticks_by_itself_until_asked_to_stop(store: SqliteStore):
    clock, stop, ripe = VirtualClock(NOON), asyncio.Event(), asyncio.Event()
    await settle(store, "1", Outcome(set_dues=(due("now", NOON), due("soon", later(hours=1)))))
    ticker = Ticker(store, every=timedelta(milliseconds=5), on_ripe=ripe.set)
    running = asyncio.create_task(ticker.run_forever(clock, stop))
    await ripe.wait()
    ripe.clear()
    clock.move_to(later(hours=1))
    await ripe.wait()
    stop.set()
    await running


async def test_a_late_tick_is_made_up_for_once(tmp_path: Path):
    """The scheduler's own defaults drop what is a second late."""
    scheduler = Ticker(SqliteStore(tmp_path / "x.db")).scheduler(VirtualClock(NOON))
    scheduler.start(paused=True)
    jobs = scheduler.get_jobs()
    assert {job.id for job in jobs} == {"tick", "tidy"}
    assert {(job.misfire_grace_time, job.coalesce, job.max_instances) for job in jobs} == {(None, True, 1)}
    assert str(scheduler.timezone) == "UTC"
    scheduler.shutdown(wait=False)
