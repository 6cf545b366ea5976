"""Several services with one token: one of them sends, and another one soon after it has died."""

import asyncio
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from datetime import datetime
from pathlib import Path

import pytest
from pydantic import JsonValue

from bot.model.event import Arrival
from bot.model.known import Known, Outcome
from bot.run.clerk import Desk, Job
from bot.run.clock import WallClock
from bot.run.engine import Step
from bot.run.house import House
from bot.run.seat import Seat
from bot.run.tenure import Tenure
from bot.store.postgres import PostgresStore
from tests.run.scenes import Line, echo, sorry
from tests.run.test_post import NO_LIMIT
from tests.store.contract.errands import errand
from tests.store.samples import ADA, BO, CEDAR, CHANNEL, NORTH, wrote
from tests.store.server import Rooms

SECONDS = 0.8


class Service:
    """One replica: its store, its line, and a house that runs."""

    def __init__(
        self, dsn: str, name: str, *, polls: bool = True, step: Step = echo, jobs: Mapping[str, Job] | None = None
    ) -> None:
        self.line = Line()
        self.stop = asyncio.Event()
        store = PostgresStore(dsn, size=2)
        seat = Seat(self.line, "north", NO_LIMIT[CHANNEL], Tenure(store, "north", CHANNEL, name, SECONDS), polls)
        house = House(store, [seat], step, sorry, holder=name, jobs=jobs)
        self.running = asyncio.create_task(house.serve(WallClock(), self.stop))

    async def die(self) -> None:
        """End as a process that is killed does: without a word to the others."""
        self.running.cancel()
        await asyncio.gather(self.running, return_exceptions=True)


@pytest.fixture
async def dsn(tmp_path: Path, server_rooms: Rooms) -> str:
    dsn = server_rooms.of(tmp_path)
    store = PostgresStore(dsn)
    await store.open()
    await store.put_dealer(NORTH)
    await store.put("north", [ADA, BO], [CEDAR], [("ada", "cedar")])
    await store.close()
    return dsn


@asynccontextmanager
async def two(dsn: str, *, polls: bool = True) -> AsyncIterator[tuple[Service, Service]]:
    """Two services, the first of whom holds the token."""
    first = Service(dsn, "first", polls=polls)
    await first.line.started.wait()
    second = Service(dsn, "second", polls=polls)
    yield first, second
    for service in (first, second):
        service.stop.set()
    await asyncio.gather(first.running, second.running, return_exceptions=True)


@pytest.mark.timeout(120)
async def test_one_polls_and_sends_until_it_stops_and_then_the_other_does(dsn: str):
    async with two(dsn) as (first, second):
        assert first.line.receive is not None
        await first.line.receive(wrote("1"))
        await first.line.has_sent(1)
        assert not second.line.started.is_set()
        first.stop.set()
        await second.line.started.wait()
        assert second.line.receive is not None
        await second.line.receive(wrote("2"))
        await second.line.has_sent(1)
        assert (first.line.texts, second.line.texts) == (["hello (1)"], ["hello (2)"])


@pytest.mark.timeout(120)
async def test_where_updates_come_by_themselves_every_service_takes_them_and_one_sends(dsn: str):
    async with two(dsn, polls=False) as (first, second):
        await second.line.started.wait()
        assert second.line.receive is not None
        await second.line.receive(wrote("1"))
        sending = [asyncio.create_task(service.line.has_sent(1)) for service in (first, second)]
        _, idle = await asyncio.wait(sending, return_when=asyncio.FIRST_COMPLETED)
        for task in idle:
            task.cancel()
        assert first.line.texts + second.line.texts == ["hello (1)"]


@pytest.mark.timeout(120)
async def test_when_the_holder_dies_another_takes_over_within_the_lease(dsn: str):
    async with two(dsn) as (first, second):
        await first.die()
        async with asyncio.timeout(60):
            await second.line.started.wait()


@pytest.mark.timeout(120)
async def test_errands_are_done_by_the_service_that_may_use_the_token(dsn: str):
    ran: list[str] = []
    done = asyncio.Event()

    def ask(known: Known, arrival: Arrival, now: datetime) -> Outcome:
        return Outcome(errands=(errand(arrival.update),))

    def jobs_of(name: str) -> Mapping[str, Job]:
        async def look(_: Desk) -> JsonValue:
            ran.append(name)
            if len(ran) == 30:
                done.set()
            return None

        return {"look": look}

    first = Service(dsn, "first", step=ask, jobs=jobs_of("first"))
    await first.line.started.wait()
    second = Service(dsn, "second", step=ask, jobs=jobs_of("second"))
    assert first.line.receive is not None
    for number in range(30):
        await first.line.receive(wrote(str(number), at=str(number % 2 + 1)))
    async with asyncio.timeout(60):
        await done.wait()
    for service in (first, second):
        service.stop.set()
    await asyncio.gather(first.running, second.running)
    assert set(ran) == {"first"}
