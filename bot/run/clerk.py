"""The clerk: does what conversations asked for that needs a file or everybody in the books, one thing after another.

A result is an arrival like any other. What fails is tried again, then its failure is the result.
"""

import asyncio
import itertools
import logging
from collections.abc import Awaitable, Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import datetime

from pydantic import JsonValue

from bot.channels.contract import Channel
from bot.model.dealer import Dealer
from bot.model.enclosure import Made
from bot.model.errand import Errand
from bot.model.event import Returned
from bot.model.message import Delivered, Message, Parcel, Refusal
from bot.model.person import Person
from bot.run.bell import Bell
from bot.run.clock import Clock
from bot.run.engine import describe
from bot.store.contract import Run, Store, StoreBroken

log = logging.getLogger(__name__)

TRIES = 3
LEASE_SECONDS = 1800.0
IDLE_SECONDS = 5.0
LONGEST_PAUSE = 30.0
FAILED: JsonValue = {"failed": True}
"""What a conversation receives where an errand could not be done."""


@dataclass(frozen=True, slots=True)
class Desk:
    """What a job has at hand: who asked, for which dealer, when, and the store and channels."""

    store: Store
    channels: Mapping[str, Channel]
    dealer: Dealer
    person: Person
    errand: Errand
    now: datetime


ChannelsOf = Callable[[str], Mapping[str, Channel]]
"""A dealer's channels by name."""
Job = Callable[[Desk], Awaitable[JsonValue]]


async def hand_over(desk: Desk, text: str, made: Made | None) -> bool:
    """Send a file, or words alone, that are kept nowhere, at once and past the outbox; whether it arrived."""
    if desk.person.address is None:
        return False
    channel = desk.channels[desk.person.address.channel]
    parcel = Parcel(
        number=next(_NUMBERS),
        dealer=desk.dealer.key,
        address=desk.person.address,
        message=Message(to=desk.person.key, text=text),
        at=desk.now,
        made=made,
    )
    for _ in range(TRIES):
        match await channel.send(parcel):
            case Delivered():
                return True
            case Refusal(kind="later", seconds=seconds):
                await asyncio.sleep(min(1.0 if seconds is None else seconds, LONGEST_PAUSE))
            case _:
                return False
    return False


_NUMBERS = itertools.count(-1, -1)
"""Numbers of parcels that are in no outbox."""


class Clerk:
    """Runs errands by the jobs of their kinds. `on_done` is called after each.

    Errands of dealers that are `elsewhere`, whose token another service uses now, are left to that service.
    """

    def __init__(
        self,
        store: Store,
        channels: ChannelsOf,
        jobs: Mapping[str, Job],
        on_done: Callable[[], None] = lambda: None,
        elsewhere: Callable[[], Collection[str]] = frozenset,
    ) -> None:
        self._store = store
        self._channels = channels
        self._jobs = jobs
        self._on_done = on_done
        self._elsewhere = elsewhere
        self.bell = Bell()

    async def run_until_idle(self, now: datetime) -> int:
        """Run every errand that waits; returns how many were run."""
        count = 0
        while (run := await self._store.take_errand(now, LEASE_SECONDS, self._elsewhere())) is not None:
            await self._run(run, now)
            count += 1
        return count

    async def run_forever(self, clock: Clock, stop: asyncio.Event) -> None:
        """Run errands as they come until `stop` is set; one under way is cut off and found by the next start."""
        while not stop.is_set():
            try:
                if not await self.run_until_idle(clock.now()):
                    await self.bell.wait(IDLE_SECONDS)
            except StoreBroken as broken:
                log.warning("the store does not work, errands wait: %s", broken)
                await self.bell.wait(IDLE_SECONDS)

    async def _run(self, run: Run, now: datetime) -> None:
        errand = run.errand
        try:
            result = await self._do(run, now)
        except StoreBroken:
            await self._store.retry_errand(run)
            raise
        except Exception as error:  # whatever a job stumbles over must not stop the others
            log.error("errand %s failed (try %d of %d): %s", errand.kind, run.attempts, TRIES, describe(error))  # noqa: TRY400
            if run.attempts < TRIES:
                await self._store.retry_errand(run)
                return
            result = FAILED
        await self._store.finish_errand(run, Returned(errand=errand.key, what=errand.what, result=result), now)
        self._on_done()

    async def _do(self, run: Run, now: datetime) -> JsonValue:
        errand = run.errand
        job = self._jobs.get(errand.kind)
        who = await self._store.person(errand.dealer, errand.person)
        dealer = next((one for one in await self._store.dealers() if one.key == errand.dealer), None)
        if job is None or who is None or dealer is None or run.attempts > TRIES:
            return FAILED
        return await job(Desk(self._store, self._channels(dealer.key), dealer, who, errand, now))
