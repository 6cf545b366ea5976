"""The ticker: a few interval jobs that look at what is due. No job ever belongs to one person or one tub."""

import asyncio
import logging
from collections.abc import Awaitable, Callable
from datetime import datetime, timedelta

from apscheduler.events import EVENT_JOB_ERROR, EVENT_JOB_MAX_INSTANCES, JobEvent
from apscheduler.schedulers.asyncio import AsyncIOScheduler

from bot.run.clock import Clock, WallClock
from bot.store.contract import Store, StoreBroken

log = logging.getLogger(__name__)

AT_ONCE = 500
NEVER_BEGUN = timedelta(days=30)
"""How long a round that was not sent is kept."""
FIRST_TIDY = timedelta(minutes=5)
"""After the start: a service that is restarted each night tidies too."""
_JOBS = {"misfire_grace_time": None, "coalesce": True, "max_instances": 1}


class Ticker:
    """Moves what is due into the inbox, and forgets what is kept no longer. `on_ripe` is called when something was
    moved.
    """

    def __init__(
        self,
        store: Store,
        *,
        every: timedelta = timedelta(seconds=5),
        on_ripe: Callable[[], None] = lambda: None,
    ) -> None:
        self._store = store
        self._every = every
        self._on_ripe = on_ripe
        self._busy = asyncio.Lock()

    async def tick(self, now: datetime) -> int:
        """Move everything that is due, a bounded number at a time; returns how many rows were due."""
        ripe = 0
        while batch := await self._store.ripen(now, AT_ONCE):
            ripe += batch
            self._on_ripe()
            await asyncio.sleep(0)
        return ripe

    async def tidy(self, now: datetime) -> int:
        """Forget what each dealer keeps no longer, a little at a time; returns how many rows went or lost words."""
        gone = 0
        for dealer in await self._store.dealers():
            while forgotten := await self._store.forget(dealer.key, dealer.keep, now):
                gone += forgotten
                await asyncio.sleep(0)
        return gone + await self._store.tidy(now - NEVER_BEGUN)

    def scheduler(self, clock: Clock) -> AsyncIOScheduler:
        """The interval jobs, not started yet: late ones are made up for, once, and never run beside themselves."""
        scheduler = AsyncIOScheduler(timezone="UTC", job_defaults=_JOBS)
        scheduler.add_listener(_complain, EVENT_JOB_ERROR | EVENT_JOB_MAX_INSTANCES)
        scheduler.add_job(self._do, "interval", (self.tick, clock), seconds=self._every.total_seconds(), id="tick")
        first = WallClock().now() + FIRST_TIDY
        scheduler.add_job(self._attempt, "interval", (self.tidy, clock), days=1, id="tidy", next_run_time=first)
        return scheduler

    async def run_forever(self, clock: Clock, stop: asyncio.Event) -> None:
        """Tick until `stop` is set; a tick under way is brought to its end."""
        scheduler = self.scheduler(clock)
        scheduler.start()
        try:
            await self._do(self.tick, clock)
            await stop.wait()
        finally:
            scheduler.pause()
            async with self._busy:
                scheduler.shutdown(wait=False)

    async def _do(self, job: Callable[[datetime], Awaitable[int]], clock: Clock) -> None:
        async with self._busy:
            await self._attempt(job, clock)

    async def _attempt(self, job: Callable[[datetime], Awaitable[int]], clock: Clock) -> None:
        try:
            await job(clock.now())
        except StoreBroken as broken:
            log.warning("the store does not work, what is due waits: %s", broken)


def _complain(event: JobEvent) -> None:
    if event.code == EVENT_JOB_MAX_INSTANCES:
        log.warning("%s takes longer than its interval", event.job_id)
    else:
        log.error("%s failed with %s", event.job_id, type(event.exception).__name__)
