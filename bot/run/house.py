"""Everything that moves, wired together: on a machine's clock as a service, or step by step on a virtual one."""

import asyncio
import logging
import random
from collections.abc import Mapping
from datetime import datetime, timedelta

from bot.channels.contract import Channel
from bot.model.event import Arrival
from bot.model.person import Address
from bot.run.clerk import Clerk, Job
from bot.run.clock import Clock, VirtualClock
from bot.run.engine import Apologise, Engine, Step
from bot.run.pace import Pace
from bot.run.post import IN_FLIGHT, Marked, Post
from bot.run.rounds import Rounds
from bot.run.ticker import KEEP, Ticker
from bot.run.verdict import marked
from bot.store.contract import Store

log = logging.getLogger(__name__)


class House:
    """A store, its channels, and what moves between them."""

    def __init__(
        self,
        store: Store,
        channels: Mapping[str, Channel],
        step: Step,
        apologise: Apologise,
        *,
        workers: int = 1,
        paces: Mapping[str, Pace] | None = None,
        in_flight: int = IN_FLIGHT,
        every: timedelta = timedelta(seconds=5),
        keep: timedelta = KEEP,
        chance: random.Random | None = None,
        mark: Marked = marked,
        jobs: Mapping[str, Job] | None = None,
    ) -> None:
        self.store = store
        self._channels = channels
        self._open = asyncio.Event()
        self.post = Post(
            store, channels, paces=paces, in_flight=in_flight, chance=chance, mark=mark, receive=self._receive
        )
        self.engine = Engine(store, step, apologise, workers=workers, on_settled=self._settled, busy=self._busy_with)
        self.clerk = Clerk(store, channels, jobs or {}, self.engine.bell.ring)
        self.ticker = Ticker(store, every=every, keep=keep, on_ripe=self.engine.bell.ring)
        self.rounds = Rounds(store, on_put=self.post.ring, wake=self.ticker.tick)

    async def settle_down(self, now: datetime) -> None:
        """Do everything that can be done at `now`: what is due, what has arrived, what may leave."""
        while await self._round(now):
            pass

    async def _round(self, now: datetime) -> int:
        done = await self.ticker.tick(now) + await self.engine.run_until_idle(now)
        done += await self.clerk.run_until_idle(now) + await self.rounds.work(now)
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
                opened: list[Channel] = []
                parts = [
                    group.create_task(self.engine.run_forever(clock, stop), name="engine"),
                    group.create_task(self.ticker.run_forever(clock, stop), name="ticker"),
                    group.create_task(self.rounds.run_forever(clock, stop), name="rounds"),
                    group.create_task(self.clerk.run_forever(clock, stop), name="clerk"),
                    group.create_task(self._open_and_send(clock, stop, opened), name="post"),
                ]
                try:
                    await stop.wait()
                finally:
                    await self._wind_up(opened, parts, stop, stop_seconds)
        finally:
            await self.store.close()

    def _settled(self) -> None:
        self.post.ring()
        self.rounds.bell.ring()
        self.clerk.bell.ring()

    async def _receive(self, arrival: Arrival) -> bool:
        return await self.engine.receive(arrival)

    async def _busy_with(self, address: Address) -> None:
        channel = self._channels.get(address.channel)
        if channel is not None:
            await channel.busy_with(address)

    async def _open_and_send(self, clock: Clock, stop: asyncio.Event, opened: list[Channel]) -> None:
        """Send only once the channels are open: a message taken up before would be in doubt if the process ended."""
        for channel in self._channels.values():
            opened.append(channel)
            try:
                await channel.start(self.engine.receive)
            except Exception:
                opened.remove(channel)
                raise
        self._open.set()
        await self.post.run_forever(clock, stop)

    async def _wind_up(
        self, opened: list[Channel], parts: list["asyncio.Task[None]"], stop: asyncio.Event, seconds: float
    ) -> None:
        """Close the channels' way in, and see to it that everything else ends in time."""
        loop = asyncio.get_running_loop()
        deadline = loop.time() + seconds
        if not self._open.is_set():
            parts[-1].cancel()
        await self._close(opened, seconds)
        self.engine.bell.ring()
        self.rounds.bell.ring()
        self.clerk.bell.ring()
        self.post.ring()
        if stop.is_set():
            _, late = await asyncio.wait(parts, timeout=max(0.0, deadline - loop.time()))
            for part in late:
                log.warning("the %s did not end in time; the next start goes on where it was", part.get_name())
                part.cancel()

    @staticmethod
    async def _close(channels: list[Channel], seconds: float) -> None:
        for channel in channels:
            try:
                async with asyncio.timeout(seconds):
                    await channel.stop()
            except Exception as error:  # one channel's fault must not keep the others open
                log.warning("the channel %s did not close: %s", channel.name, type(error).__name__)
