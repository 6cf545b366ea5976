"""Everything that moves, wired together: on a machine's clock as a service, or step by step on a virtual one."""

import asyncio
import contextlib
import logging
import random
from collections.abc import Mapping
from datetime import datetime, timedelta

from bot.channels.contract import Channel
from bot.model.event import Arrival
from bot.run.clerk import Clerk, Job
from bot.run.clock import Clock, VirtualClock
from bot.run.crowd import Crowd
from bot.run.engine import Apologise, Engine, Step
from bot.run.occupant import Occupant
from bot.run.pace import Pace
from bot.run.post import IN_FLIGHT, Marked, Post
from bot.run.rounds import Rounds
from bot.run.seat import Seats
from bot.run.ticker import Ticker
from bot.run.verdict import marked
from bot.store.contract import Store, StoreBroken

log = logging.getLogger(__name__)


class House:
    """A store, its channels, and what moves between them."""

    def __init__(
        self,
        store: Store,
        seats: Seats,
        step: Step,
        apologise: Apologise,
        *,
        workers: int = 1,
        paces: Mapping[str, Pace] | None = None,
        in_flight: int = IN_FLIGHT,
        every: timedelta = timedelta(seconds=5),
        chance: random.Random | None = None,
        mark: Marked = marked,
        jobs: Mapping[str, Job] | None = None,
        holder: str = "",
        crowd: Crowd | None = None,
    ) -> None:
        self.store = store
        self._holder = holder
        self.post = Post(
            store, seats, paces=paces, in_flight=in_flight, chance=chance, mark=mark, receive=self._receive
        )
        self.engine = Engine(
            store,
            step,
            apologise,
            workers=workers,
            on_settling=self.post.ring,
            on_settled=self._settled,
            busy=self._busy_with,
            crowd=crowd,
        )
        self.clerk = Clerk(store, self._channels_of, jobs or {}, self.engine.bell.ring, self._elsewhere)
        self.ticker = Ticker(store, every=every, on_ripe=self.engine.bell.ring)
        self.rounds = Rounds(store, on_put=self.post.ring, wake=self.ticker.tick)

    async def settle_down(self, now: datetime) -> None:
        """Do everything that can be done at `now`: what is due, what has arrived, what may leave."""
        while await self._round(now):
            pass

    async def _round(self, now: datetime) -> int:
        done = await self.ticker.tick(now) + await self.engine.run_until_idle(now)
        done += await self.post.drain(now) + await self.clerk.run_until_idle(now) + await self.rounds.work(now)
        return done + await self.post.drain(now)

    async def pass_time(self, clock: VirtualClock, until: datetime) -> None:
        """Let a virtual clock run to `until`; everything due on the way happens in its order, at its own time."""
        await self.settle_down(clock.now())
        while (moment := await self.store.next_moment(after=clock.now())) is not None and moment <= until:
            clock.move_to(moment)
            await self.settle_down(moment)
        clock.move_to(max(until, clock.now()))

    async def serve(self, clock: Clock, stop: asyncio.Event, *, stop_seconds: float = 8.0) -> None:
        """Run as a service until `stop` is set.

        Then nothing more is taken in, and what is under way has `stop_seconds` to end; what has not ended by then is
        found by the next start. The store is opened and closed here. A part that fails ends the whole with its error.
        """
        await self.store.open()
        try:
            await self.store.take_over()
            async with asyncio.TaskGroup() as group:
                seated = {
                    occupant: group.create_task(occupant.run(clock, stop, self.engine.receive), name="post")
                    for occupant in map(Occupant, self.post.senders)
                }
                parts = [
                    group.create_task(self.engine.run_forever(clock, stop), name="engine"),
                    group.create_task(self.ticker.run_forever(clock, stop), name="ticker"),
                    group.create_task(self.rounds.run_forever(clock, stop), name="rounds"),
                    group.create_task(self.clerk.run_forever(clock, stop), name="clerk"),
                    *seated.values(),
                ]
                hearing = group.create_task(self.store.hear(self._heard), name="hearing")
                loading = group.create_task(self.post.studio.warm_up(), name="loading")
                try:
                    await stop.wait()
                finally:
                    await self._wind_up(seated, parts, stop, stop_seconds)
                    hearing.cancel()
                    loading.cancel()
            with contextlib.suppress(StoreBroken):
                await self.store.let_go(self._holder)
        finally:
            await self.store.close()

    def _settled(self) -> None:
        self.post.ring()
        self.rounds.bell.ring()
        self.clerk.bell.ring()

    def _heard(self) -> None:
        self.engine.bell.ring()
        self._settled()

    async def _receive(self, arrival: Arrival) -> bool:
        return await self.engine.receive(arrival)

    def _channels_of(self, dealer: str) -> Mapping[str, Channel]:
        seats = [sender.seat for sender in self.post.senders]
        return {seat.channel.name: seat.channel for seat in seats if seat.dealer in {None, dealer}}

    def _elsewhere(self) -> frozenset[str]:
        """Dealers whose channel is not open here, for another service uses their token."""
        return frozenset(one.seat.dealer for one in self.post.senders if one.seat.dealer and not one.is_open)

    async def _busy_with(self, arrival: Arrival) -> None:
        channel = self._channels_of(arrival.dealer).get(arrival.address.channel)
        if channel is not None:
            await channel.busy_with(arrival.address)

    async def _wind_up(
        self,
        seated: Mapping[Occupant, "asyncio.Task[None]"],
        parts: list["asyncio.Task[None]"],
        stop: asyncio.Event,
        seconds: float,
    ) -> None:
        """Close the channels' way in, and see to it that everything else ends in time."""
        loop = asyncio.get_running_loop()
        deadline = loop.time() + seconds
        for occupant, sending in seated.items():
            if occupant.is_opening:
                sending.cancel()
        await asyncio.gather(*(occupant.close(seconds) for occupant in seated))
        self.engine.bell.ring()
        self.rounds.bell.ring()
        self.clerk.bell.ring()
        self.post.ring()
        if stop.is_set():
            _, late = await asyncio.wait(parts, timeout=max(0.0, deadline - loop.time()))
            for part in late:
                log.warning("the %s did not end in time; the next start goes on where it was", part.get_name())
                part.cancel()
