"""The engine: takes the next arrival, asks the conversation what comes of it, and settles that in one go.

One arrival at a time within a chat; a failure is tried again twice, then the arrival is parked and its sender told so.
"""

import asyncio
import logging
from collections.abc import Awaitable, Callable
from datetime import datetime, timedelta
from pathlib import Path

from bot.model.event import Arrival, Fell
from bot.model.known import Known, Outcome
from bot.model.sought import Seek
from bot.run.bell import Bell
from bot.run.clock import Clock
from bot.run.crowd import Crowd
from bot.store.contract import Conflict, Contradiction, Lost, Store, StoreBroken, Taken

log = logging.getLogger(__name__)

Step = Callable[[Known, Arrival, datetime], Outcome]
"""What comes of an arrival, given what is known and the time."""
Busy = Callable[[Arrival], Awaitable[None]]
"""Shows somebody that an answer is coming."""
Apologise = Callable[[Known], Outcome]
"""What a person is told whose message could not be handled."""

TRIES = 3
DEATHS = 20
"""How many processes may die over one arrival before it is taken for the reason."""
LEASE_SECONDS = 15.0
"""How long one arrival may take; after that another service may have it, and only one of them can settle it."""
READINGS = 20
"""How often an arrival is decided anew because something changed meanwhile, before that counts as a failure."""
SEEKS = 3
"""How often one step may ask for something to be looked up."""
IDLE_SECONDS = 5.0
"""How long nothing is looked for while no bell rings: another process may have put something in."""
LONGEST_PAUSE = 30.0
PATIENCE = timedelta(seconds=2)
"""Who has waited longer than that is shown that an answer is coming."""


class Engine:
    """Works off the inbox.

    `workers` is how many arrivals of different chats are handled side by side; `on_settling` is called as what comes of
    one is about to be committed, so that who sends it may join that commit, `on_settled` after each one, `busy` before
    one whose sender has waited; `crowd` says how often somebody is answered (None: as often as wanted).
    """

    def __init__(
        self,
        store: Store,
        step: Step,
        apologise: Apologise,
        *,
        workers: int = 1,
        on_settling: Callable[[], None] = lambda: None,
        on_settled: Callable[[], None] = lambda: None,
        busy: Busy | None = None,
        crowd: Crowd | None = None,
    ) -> None:
        if not 1 <= workers <= 64:
            raise ValueError(f"{workers} workers are not possible; choose 1 to 64")
        self._store = store
        self._step = step
        self._apologise = apologise
        self._workers = workers
        self._on_settling = on_settling
        self._on_settled = on_settled
        self._busy = busy
        self._showing: asyncio.Future[None] | None = None
        self._crowd = crowd
        self._ripe_at: datetime | None = None
        """When what came last and rests may be handled."""
        self.bell = Bell()

    async def receive(self, arrival: Arrival) -> bool:
        """Keep an arrival durably and wake up; what a channel calls before it acknowledges. False: it was there."""
        new = await self._store.receive(arrival)
        self._ripe_at = arrival.rests_until or self._ripe_at
        self.bell.ring()
        return new

    async def run_until_idle(self, now: datetime) -> int:
        """Handle everything that waits, as if no time passed; returns how many arrivals were handled."""
        handled = 0
        while (taken := await self._store.take(now)) is not None:
            await self._handle(taken, now)
            handled += 1
            await asyncio.sleep(0)
        return handled

    async def run_forever(self, clock: Clock, stop: asyncio.Event) -> None:
        """Handle what comes until `stop` is set and the bell has rung; what is begun is brought to its end."""
        async with asyncio.TaskGroup() as group:
            for _ in range(self._workers):
                group.create_task(self._work(clock, stop))
        if self._showing is not None:
            self._showing.cancel()

    async def _work(self, clock: Clock, stop: asyncio.Event) -> None:
        taken: Taken | None = None
        failures = 0
        while not stop.is_set():
            try:
                taken = taken or await self._store.take(clock.now(), LEASE_SECONDS)
                if taken is None:
                    await self.bell.wait(self._idle_seconds(clock.now()))
                else:
                    self._show(taken.arrival, clock.now())
                    await self._handle(taken, clock.now())
                    taken = None
                    await asyncio.sleep(0)
                failures = 0
            except StoreBroken as broken:
                failures += 1
                log.warning("the store does not work, handling waits: %s", broken)
                await self.bell.wait(min(2.0 ** (failures - 1), LONGEST_PAUSE))

    def _idle_seconds(self, now: datetime) -> float:
        if self._ripe_at is None or self._ripe_at <= now:
            return IDLE_SECONDS
        return min((self._ripe_at - now).total_seconds(), IDLE_SECONDS)

    def _show(self, arrival: Arrival, now: datetime) -> None:
        """Show who has waited that an answer is coming: beside handling it, and one at a time, for when many have
        waited there is no time to tell each of them.
        """
        free = self._showing is None or self._showing.done()
        if self._busy and free and arrival.event is not None and now - arrival.at > PATIENCE:
            self._showing = asyncio.ensure_future(self._busy(arrival))
            self._showing.add_done_callback(_shown)

    async def _handle(self, taken: Taken, now: datetime) -> None:
        try:
            if (turn := await self._turn(taken.arrival, now)) > now:
                await self._store.postpone(taken, turn)
                return
            if taken.claims - taken.attempts > DEATHS:
                await self._bury(taken, f"{DEATHS} processes ended while handling it", now)
            else:
                await self._decide(taken, now)
        except Lost:
            log.warning("arrival %d took longer than its lease; somebody else has it", taken.number)
            return
        self._on_settled()

    async def _turn(self, arrival: Arrival, now: datetime) -> datetime:
        """When it is an arrival's turn: now, unless its sender, or all whom nobody knows, brought too many of late."""
        if self._crowd is None:
            return now
        turn = self._crowd.turn(arrival, now)
        if turn == now and arrival.group is None and not isinstance(arrival.event, Fell):
            person = await self._store.person_at(arrival.dealer, arrival.address)
            turn = now if person else self._crowd.turn_of_stranger(arrival, now)
        return turn

    async def _decide(self, taken: Taken, now: datetime) -> None:
        for _ in range(READINGS):
            try:
                known = await self._store.known(taken.arrival)
                outcome = self._step(known, taken.arrival, now)
                for _ in range(SEEKS):
                    if outcome.seeks is None:
                        break
                    known = await self._sought(known, taken.arrival, outcome.seeks)
                    outcome = self._step(known, taken.arrival, now)
                self._on_settling()
                await self._store.settle(taken, known, outcome, now)
            except Conflict:
                await asyncio.sleep(0)
            except (StoreBroken, Lost):
                raise
            except Exception as error:  # whatever a conversation does wrong must not stop the others
                await self._fail(taken, describe(error), now)
                return
            else:
                return
        await self._fail(taken, f"what was known changed {READINGS} times meanwhile", now)

    async def _sought(self, known: Known, arrival: Arrival, seek: Seek) -> Known:
        if seek.what == "tub":
            return await self._store.known(arrival, tub=seek.words)
        return known.model_copy(update={"found": await self._store.look_up(arrival.dealer, seek)})

    async def _fail(self, taken: Taken, why: str, now: datetime) -> None:
        final = taken.attempts + 1 >= TRIES
        log.error("arrival %d could not be handled (try %d of %d): %s", taken.number, taken.attempts + 1, TRIES, why)
        if final:
            await self._bury(taken, why, now)
        else:
            await self._store.give_up(taken, why, now, final=False)

    async def _bury(self, taken: Taken, why: str, now: datetime) -> None:
        """Park an arrival as dead and tell its sender, in one transaction; park it at least."""
        try:
            known = await self._store.known(taken.arrival)
            await self._store.settle(taken, known, self._apologise(known), now, dead=why)
        except (StoreBroken, Lost):
            raise
        except Exception as error:  # an apology that fails must not keep the arrival alive
            log.warning("arrival %d is parked without a word to its sender: %s", taken.number, describe(error))
            await self._store.give_up(taken, why, now, final=True)


def describe(error: Exception) -> str:
    """The kind of an error and where it came from. Its words are left out: they may be a person's own.

    A Contradiction names keys only, so its words stay.
    """
    words = f": {error}" if isinstance(error, Contradiction | Conflict) else ""
    places = []
    trace = error.__traceback__
    while trace is not None:
        code = trace.tb_frame.f_code
        places.append(f"{Path(code.co_filename).name}:{trace.tb_lineno} {code.co_name}")
        trace = trace.tb_next
    return f"{type(error).__name__}{words} at {' < '.join(reversed(places[-6:]))}"


def _shown(showing: asyncio.Future[None]) -> None:
    if not showing.cancelled() and (error := showing.exception()) is not None:
        log.debug("that an answer is coming could not be shown: %s", type(error).__name__)
